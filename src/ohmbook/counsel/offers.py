"""Which readings could be taken next, and what each would say, from several guesses of the truth.

Readings are weighed at the settled values and at joint draws around them (`counsel.guesses`), each
with the ranges and read-out steps of the amplitudes that it would show.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import exp

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.desk import Desk
from ohmbook.bench.estimates import Answer
from ohmbook.bench.kind import Candidate, Connection, Reading, Tunable
from ohmbook.circuit.network import Id
from ohmbook.counsel.guesses import Guess, guesses
from ohmbook.errors import OhmbookError
from ohmbook.evidence.scale import Scales
from ohmbook.evidence.unknown import Array, Prior

Kinds = Sequence[type[Reading]]
Offered = tuple[type[Reading], Candidate | Tunable]
Progress = Callable[[int, int], None]

FEWEST, MOST = 8, 40
WORK = 40_000
"""Guesses of the truth that are averaged over: so many, and rows times guesses about WORK."""
EACH_ALONE = 60
"""Rows up to which every guess is compiled by itself, with what it would show."""
FAINTEST = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Option:
    """One reading that may be chosen.

    Args:
        key: what it is, in this survey and in later ones.
        kind: its class.
        make: gives the candidate, once it is chosen.
        connection: what it is clipped to.
        rows: where its rows stand in every outlook.
        tuned: (which offer, place, frequency in Hz) where those were chosen; else None.
        numbers: how many numbers are read for it.
        again: the same after another of its kind.
        cost: of a number of it.
    """

    key: tuple[object, ...]
    kind: type[Reading]
    make: Callable[[], Candidate]
    connection: Connection
    rows: tuple[int, ...]
    tuned: tuple[int, str, float] | None = None
    numbers: int = 1
    again: int = 1
    cost: float = 1.0


@dataclass(frozen=True, slots=True)
class Outlook:
    """What every option would say if one guess were the truth.

    Args:
        ids: unknowns, in the order of every array.
        values: of the unknowns, natural units, shape (n,).
        precision: of what is known already, shape (n, n).
        slope: each row by the unknowns' coordinates, shape (m, n).
        variance: each row's own, shape (m,).
        shown: what each row would show, shape (m,).
    """

    ids: tuple[Id, ...]
    values: Array
    precision: Array
    slope: Array
    variance: Array
    shown: Array


@dataclass(frozen=True, slots=True)
class Survey:
    """Options, and each guess's outlook on them."""

    options: tuple[Option, ...]
    outlooks: tuple[Outlook, ...]

    def some(self, places: Sequence[int]) -> Survey:
        """With some of the options only."""
        held = [self.options[k] for k in places]
        rows = np.array([row for one in held for row in one.rows], dtype=np.intp)
        options, start = [], 0
        for one in held:
            stop = start + len(one.rows)
            options.append(replace(one, rows=tuple(range(start, stop))))
            start = stop
        outlooks = [
            replace(
                one,
                slope=one.slope[rows],
                variance=one.variance[rows],
                shown=one.shown[rows],
            )
            for one in self.outlooks
        ]
        return Survey(tuple(options), tuple(outlooks))


Points = Sequence[tuple[Sequence[float], Sequence[str]]]
"""Frequencies (Hz) and places; each pair stands for all of them with all of those."""
Grid = Callable[[int, Tunable], Points]


class Surveyor:
    """Looks at a state of knowledge and at what could be read next.

    Args:
        answer: the joint answer to the readings so far.
        kinds: of readings.
        progress: called with (done, of) of the whole work.
    """

    def __init__(self, answer: Answer, kinds: Kinds, progress: Progress | None = None) -> None:
        self.answer, self.sheet, self.progress = answer, answer.compiled.sheet, progress
        self.beliefs: dict[Id, Prior] = {one.id: one.prior for one in answer.compiled.unknowns}
        desk = Desk(self.sheet, self.beliefs)
        self.offers: list[Offered] = [
            (kind, one) for kind in kinds for one in kind.candidates(desk, answer)
        ]
        self.guesses: Sequence[Guess] | None = None

    def report(self, share: float) -> None:
        """How much of the whole work is done."""
        if self.progress is not None:
            self.progress(round(100 * share), 100)

    def survey(self, grid: Grid, only: Sequence[Option] | None = None, fresh: int = 0) -> Survey:
        """Options at the frequencies and places of a grid, as each guess sees them.

        Args:
            grid: which.
            only: of those without a grid, the ones among these; all where None.
            fresh: how many new guesses to look at it with; the usual ones where 0.
        """
        readings, options = self._readings(grid, only)
        try:
            first = self._compiled(readings)
        except OhmbookError:
            readings, options = self._sound(readings, options)
            first = self._compiled(readings)
        own = _own_rows(first, [one.name for one in readings])
        guessed = self._guessed(first, own, fresh)
        shown = _shown(first, own, guessed)
        if shown.shape[1] > EACH_ALONE:
            base = self._compiled(_expecting(readings, own, shown[0]))
            outlooks = self._all_at_once(base, own, guessed, shown)
        else:
            outlooks = [
                self._all_at_once(
                    self._compiled(_expecting(readings, own, there)), own, [one], there[None]
                )[0]
                for one, there in zip(guessed, shown, strict=True)
            ]
        return Survey(_placed(options, readings, own), tuple(outlooks))

    def _readings(
        self, grid: Grid, only: Sequence[Option] | None
    ) -> tuple[list[Reading], list[list[Option]]]:
        """A reading for each offer, and the options it holds, row by row."""
        readings, options = [], []
        for number, (kind, offer) in enumerate(self.offers):
            if isinstance(offer, Candidate):
                one = _plain(kind, offer)
                if only is None or any(one.key == other.key for other in only):
                    readings.append(offer.reading)
                    options.append([one])
                continue
            for k, (f_hz, places) in enumerate(grid(number, offer)):
                every = offer.every(f_hz, places)
                readings.append(every.model_copy(update={"name": f"{every.name}, {k}"}))
                options.append([_tuned(kind, offer, (number, p, f)) for f in f_hz for p in places])
        return readings, options

    def _sound(
        self, readings: Sequence[Reading], options: Sequence[list[Option]]
    ) -> tuple[list[Reading], list[list[Option]]]:
        """Those that can be modelled; where nothing conducts once all is unplugged none can."""
        pairs = [
            (reading, held)
            for reading, held in zip(readings, options, strict=True)
            if self._stands(reading)
        ]
        return [reading for reading, _ in pairs], [held for _, held in pairs]

    def _stands(self, reading: Reading) -> bool:
        try:
            self._compiled([reading])
        except OhmbookError:
            return False
        return True

    def _compiled(self, readings: Sequence[Reading]) -> Compiled:
        return compile_sheet(self.sheet, [*self.sheet.readings, *readings], self.beliefs)

    def _guessed(
        self, compiled: Compiled, own: Mapping[str, NDArray[np.intp]], fresh: int
    ) -> Sequence[Guess]:
        """The usual guesses, as many as there is time for; or fresh ones."""
        posterior, known = self.answer.posterior, self._known(compiled, set(own))
        if fresh:
            return guesses(posterior, compiled, known, fresh, seed=2)
        if self.guesses is None:
            rows = sum(map(len, own.values()))
            count = min(max(WORK // max(rows, 1), FEWEST), MOST)
            self.guesses = guesses(posterior, compiled, known, count, seed=1)
        return self.guesses

    def _all_at_once(
        self,
        compiled: Compiled,
        own: Mapping[str, NDArray[np.intp]],
        guessed: Sequence[Guess],
        shown: Array,
    ) -> list[Outlook]:
        """The outlooks of many guesses from what one of them, the first, would show.

        How far a row is to be trusted, and what its instrument adds, hang on what is shown: for
        every guess they are those of the row that shows most nearly the same in the first.
        """
        x = np.array([_values(compiled, one) for one in guessed])
        scales = Scales.of([one.scale for one in compiled.unknowns])
        _, slope = compiled.linearise(x)
        slope = np.nan_to_num(slope * scales.slope(x)[:, None, :], posinf=0.0, neginf=0.0)
        known = self._known(compiled, set(own))
        prior = np.diag([1.0 / one.prior.u**2 for one in compiled.unknowns])
        noise = np.linalg.inv(compiled.covariance[np.ix_(known, known)])
        flat = _flat(own)
        variance = np.diag(compiled.covariance)[flat]
        causes = np.array([one[0] in self.sheet.instruments for one in compiled.ids], dtype=bool)
        alike = _alike(compiled, flat, shown)
        found = []
        for k, same in enumerate(alike):
            rows = slope[k, flat]
            rows[:, causes] = slope[0, flat[same]][:, causes]
            precision = prior + slope[k, known].T @ noise @ slope[k, known]
            found.append(Outlook(compiled.ids, x[k], precision, rows, variance[same], shown[k]))
        return found

    def _known(self, compiled: Compiled, offered: set[str]) -> NDArray[np.intp]:
        """Rows that were read already: all that are no offer's own, and not set aside."""
        aside = self.answer.posterior.set_aside
        return np.array(
            [
                k
                for k, row in enumerate(compiled.rows)
                if row.label not in aside and not _is_own(row.label, row.reading, offered)
            ],
            dtype=np.intp,
        )


def _plain(kind: type[Reading], offer: Candidate) -> Option:
    name = offer.reading.name
    connection = offer.connection or Connection(name)
    sizes = (offer.numbers, offer.again, offer.cost)
    return Option((name,), kind, lambda: offer, connection, (), None, *sizes)


def _tuned(kind: type[Reading], offer: Tunable, at: tuple[int, str, float]) -> Option:
    make = partial(offer.one, at[1], at[2])
    return Option(at, kind, make, offer.connection, (), at, cost=offer.cost)


def _placed(
    options: Sequence[Sequence[Option]],
    readings: Sequence[Reading],
    own: Mapping[str, NDArray[np.intp]],
) -> tuple[Option, ...]:
    """Options with the rows they stand for, counted through all offers."""
    found, start = [], 0
    for held, reading in zip(options, readings, strict=True):
        count = len(own[reading.name])
        if held[0].tuned is None:
            rows = [tuple(range(start, start + count))]
        else:
            rows = [(start + k,) for k in range(count)]
        found += [replace(one, rows=at) for one, at in zip(held, rows, strict=True)]
        start += count
    return tuple(found)


def _flat(own: Mapping[str, NDArray[np.intp]]) -> NDArray[np.intp]:
    return np.concatenate([np.zeros(0, dtype=np.intp), *own.values()])


def _shown(
    compiled: Compiled, own: Mapping[str, NDArray[np.intp]], guessed: Sequence[Guess]
) -> Array:
    """What each guess would show in each row on offer, shape (guesses, rows)."""
    x = np.array([_values(compiled, one) for one in guessed])
    shown = compiled.predict(x)[:, _flat(own)]
    return np.where(np.isfinite(shown), np.maximum(shown, FAINTEST), FAINTEST)


def _alike(compiled: Compiled, flat: NDArray[np.intp], shown: Array) -> NDArray[np.intp]:
    """For each guess and row the row of the same model that shows nearest to it in the first
    guess; shape (guesses, rows)."""
    models = [type(compiled.rows[k].model) for k in flat]
    found = np.tile(np.arange(len(flat)), (len(shown), 1))
    for model in dict.fromkeys(models):
        rows = np.array([k for k, one in enumerate(models) if one is model], dtype=np.intp)
        order = rows[np.argsort(shown[0, rows], kind="stable")]
        ladder = np.log(shown[0, order])
        middles = 0.5 * (ladder[1:] + ladder[:-1])
        found[1:, rows] = order[np.searchsorted(middles, np.log(shown[1:, rows]))]
    return found


def _is_own(label: str, reading: str, offered: set[str]) -> bool:
    return reading in offered and label.startswith(f"{reading}:")


def _own_rows(compiled: Compiled, names: Sequence[str]) -> dict[str, NDArray[np.intp]]:
    """The rows of each offer's own, not those of what the sheet states already."""
    offered = set(names)
    rows: dict[str, list[int]] = {name: [] for name in names}
    for k, row in enumerate(compiled.rows):
        if _is_own(row.label, row.reading, offered):
            rows[row.reading].append(k)
    return {name: np.array(found, dtype=np.intp) for name, found in rows.items()}


def _expecting(
    readings: Sequence[Reading], own: Mapping[str, NDArray[np.intp]], shown: Array
) -> list[Reading]:
    found: list[Reading] = []
    start = 0
    for reading in readings:
        stop = start + len(own[reading.name])
        found.append(reading.expecting_each([float(one) for one in shown[start:stop]]))
        start = stop
    return found


def _values(compiled: Compiled, guess: Mapping[Id, float]) -> Array:
    return np.array(
        [
            guess[one.id]
            if one.id in guess
            else exp(one.prior.centre)
            if one.scale == "log"
            else one.prior.centre
            for one in compiled.unknowns
        ]
    )
