"""Which readings could be taken next, and what each would say, from several guesses of the truth.

What is still uncertain may be uncertain by a factor of six, so no single set of values stands for
the truth: readings are weighed at the settled values and at some joint draws around them (Chaloner
and Verdinelli 1995, section 3: the expected loss is an average over the posterior). For each
guess everything is compiled with the amplitudes that guess would show, so that ranges and read-out
steps are the right ones.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.desk import Desk
from ohmbook.bench.estimates import Answer
from ohmbook.bench.kind import Candidate, Connection, Reading, Tunable
from ohmbook.circuit.network import Id
from ohmbook.errors import OhmbookError
from ohmbook.evidence.scale import Scales
from ohmbook.evidence.unknown import Array, Prior

Kinds = Sequence[type[Reading]]
Offered = tuple[type[Reading], Candidate | Tunable]
Progress = Callable[[int, int], None]

GUESSES = 12
"""How many guesses of the truth are averaged over: the settled values, and joint draws."""
SPREAD = 0.5
"""Of what is believed before: that is wide so as to shut nothing out, and most boards lie nearer
its centre. A plan's guesses may be bolder than a result's beliefs (Chaloner, Verdinelli 1995)."""
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


Points = Sequence[tuple[Sequence[float], Sequence[str]]]
"""Frequencies (Hz) and places; each pair stands for all of them with all of those."""
Grid = Callable[[int, Tunable], Points]


class Surveyor:
    """Looks at a state of knowledge and at what could be read next.

    Args:
        answer: the joint answer to the readings so far.
        kinds: of readings.
        progress: called with (done, of) guesses.
    """

    def __init__(self, answer: Answer, kinds: Kinds, progress: Progress | None = None) -> None:
        self.answer, self.sheet, self.progress = answer, answer.compiled.sheet, progress
        self.beliefs: dict[Id, Prior] = {one.id: one.prior for one in answer.compiled.unknowns}
        desk = Desk(self.sheet, self.beliefs)
        self.offers: list[Offered] = [
            (kind, one) for kind in kinds for one in kind.candidates(desk, answer)
        ]
        self.guesses: list[Mapping[Id, float]] | None = None

    def survey(self, grid: Grid) -> Survey:
        """Options at the frequencies and places of a grid, as each guess sees them."""
        readings, options = self._readings(grid)
        try:
            first = self._compiled(readings)
        except OhmbookError:
            readings, options = self._sound(readings, options)
            first = self._compiled(readings)
        names = [one.name for one in readings]
        if self.guesses is None:
            self.guesses = self._guessed(first, set(names))
        own = _own_rows(first, names)
        flat = np.concatenate([own[name] for name in names]) if names else np.zeros(0, int)
        shown = first.predict(np.array([_values(first, one) for one in self.guesses]))[:, flat]
        shown = np.where(np.isfinite(shown), np.maximum(shown, FAINTEST), FAINTEST)
        outlooks = []
        for k, guess in enumerate(self.guesses):
            expecting = _expecting(readings, own, shown[k])
            outlooks.append(self._outlook(expecting, guess, shown[k]))
            if self.progress is not None:
                self.progress(k + 1, len(self.guesses))
        return Survey(_placed(options, readings, own), tuple(outlooks))

    def _readings(self, grid: Grid) -> tuple[list[Reading], list[list[Option]]]:
        """A reading for each offer, and the options it holds, row by row."""
        readings, options = [], []
        for number, (kind, offer) in enumerate(self.offers):
            if isinstance(offer, Candidate):
                readings.append(offer.reading)
                options.append([_plain(kind, offer)])
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

    def _outlook(
        self, readings: Sequence[Reading], guess: Mapping[Id, float], shown: Array
    ) -> Outlook:
        compiled = self._compiled(readings)
        names = [one.name for one in readings]
        own = _own_rows(compiled, names)
        flat = np.concatenate([own[name] for name in names]) if names else np.zeros(0, int)
        x = _values(compiled, guess)
        slope = compiled.jacobian(x) * Scales.of([u.scale for u in compiled.unknowns]).slope(x)
        slope = np.where(np.isfinite(slope), slope, 0.0)
        known = self._known(compiled, set(names))
        precision = np.diag([1.0 / one.prior.u**2 for one in compiled.unknowns])
        if known.size:
            noise = compiled.covariance[np.ix_(known, known)]
            precision += slope[known].T @ np.linalg.solve(noise, slope[known])
        variance = np.diag(compiled.covariance)[flat]
        return Outlook(compiled.ids, x, precision, slope[flat], variance, shown)

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

    def _guessed(self, compiled: Compiled, offered: set[str]) -> list[Mapping[Id, float]]:
        """Guesses of the truth: the settled values, and joint draws; new causes with them."""
        posterior = self.answer.posterior
        places = {one: k for k, one in enumerate(posterior.ids)}
        n = len(compiled.unknowns)
        t = np.array([one.prior.centre for one in compiled.unknowns])
        covariance = np.diag([one.prior.u**2 for one in compiled.unknowns])
        here = np.array([k for k in range(n) if compiled.ids[k] in places], dtype=np.intp)
        there = np.array([places[compiled.ids[k]] for k in here], dtype=np.intp)
        t[here] = posterior.mode[there]
        covariance[np.ix_(here, here)] = posterior.covariance[np.ix_(there, there)]
        scales = Scales.of([one.scale for one in compiled.unknowns])
        stated = [
            k
            for k in self._known(compiled, offered)
            if compiled.rows[k].label not in posterior.labels
        ]
        if stated:  # an open amplitude that the sheet states and no reading needed so far
            x = scales.natural(t)
            rows = (compiled.jacobian(x) * scales.slope(x))[stated]
            off = compiled.observed[stated] - compiled.predict(x[None, :])[0, stated]
            seen = covariance @ rows.T
            noise = compiled.covariance[np.ix_(stated, stated)]
            gain = np.linalg.solve(noise + rows @ seen, seen.T).T
            t, covariance = t + gain @ off, covariance - gain @ seen.T
        drawn = _draws(t, covariance, GUESSES)
        return [dict(zip(compiled.ids, scales.natural(one), strict=True)) for one in drawn]


def _draws(t: Array, covariance: Array, count: int) -> Array:
    rng = np.random.default_rng(1)
    size, axes = np.linalg.eigh(0.5 * (covariance + covariance.T))
    root = axes * np.sqrt(np.maximum(size, 0.0))
    z = rng.standard_normal((count, len(t)))
    z[0] = 0.0
    return np.asarray(t + SPREAD * z @ root.T)


def _plain(kind: type[Reading], offer: Candidate) -> Option:
    name = offer.reading.name
    connection = offer.connection or Connection(name)
    sizes = (offer.numbers, offer.again, offer.cost)
    return Option((name,), kind, lambda: offer, connection, (), None, *sizes)


def _tuned(kind: type[Reading], offer: Tunable, at: tuple[int, str, float]) -> Option:
    return Option(at, kind, lambda: offer.one(at[1], at[2]), offer.connection, (), at)


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
