"""The reading that would tell two answers apart, among those that the kinds offer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import exp

import numpy as np

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.desk import Desk
from ohmbook.bench.estimates import Answer
from ohmbook.bench.kind import Candidate, Reading, Tunable
from ohmbook.bench.kinds import KINDS
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.errors import OhmbookError
from ohmbook.evidence.unknown import Array, Id
from ohmbook.units.quantity import Unit
from ohmbook.units.show import show_plain

TELLING = 4.0
"""How many standard uncertainties apart what two answers foretell must lie."""

EASY_HZ = (100.0, 400.0, 1200.0, 3500.0, 10000.0)
OTHER_HZ = (300.0, 3000.0)
"""Frequencies looked at, where any may be chosen: on the connection that is easiest to make, and
on the others."""

_BENCH = 0.02
"""Share of a reading by which the bench's own causes may shift it."""


@dataclass(frozen=True, slots=True)
class Possible:
    """One answer that fits: its sheet, and a value for every unknown (natural units)."""

    sheet: Sheet
    values: Mapping[Id, float]


@dataclass(frozen=True, slots=True)
class Telling:
    """A reading that tells answers apart: what to do, and what it shows for each."""

    candidate: Candidate
    shows: tuple[str, ...]
    distance: float

    def words(self, names: Sequence[str]) -> str:
        """In a sentence: what to do and what it shows for whom."""
        shown = ", ".join(f"{s} if {name}" for s, name in zip(self.shows, names, strict=True))
        return f"{self.candidate.words}: {shown}"


@dataclass(frozen=True, slots=True)
class _Foretold:
    """What two answers foretell of a number, and its own uncertainty by the worse."""

    values: tuple[float, float]
    u: float
    unit: Unit

    @property
    def distance(self) -> float:
        """How many standard uncertainties the two lie apart, the bench's own causes included."""
        one, other = self.values
        return float(abs(one - other) / np.hypot(self.u, _BENCH * max(abs(one), abs(other))))


@dataclass(frozen=True, slots=True)
class _Offer:
    """One reading as it is tried: its own numbers, and how each would be taken alone."""

    reading: Reading
    makes: tuple[Callable[[], Candidate], ...]
    cost: float


def telling(answer: Answer, one: Possible, other: Possible) -> Telling | None:
    """The cheapest reading that separates two answers by far; None where none is offered.

    Args:
        answer: the state of knowledge that the kinds are asked from.
        one: an answer that fits.
        other: another.
    """
    desk = Desk(answer.compiled.sheet, answer.compiled.beliefs)
    offers = list(_offers([one for kind in KINDS for one in kind.candidates(desk, answer)]))
    told = _foretold((one, other), offers)
    best: tuple[float, _Foretold, Callable[[], Candidate]] | None = None
    for offer, numbers in zip(offers, told, strict=True):
        for make, number in zip(offer.makes, numbers, strict=True):
            distance = 0.0 if number is None else number.distance / np.sqrt(offer.cost)
            if number is not None and distance > max(TELLING, best[0] if best else 0.0):
                best = (distance, number, make)
    if best is None:
        return None
    distance, number, make = best
    shows = tuple(_shown(value, number.unit) for value in number.values)
    return Telling(make(), shows, float(distance))


def _offers(found: Sequence[Candidate | Tunable]) -> Iterator[_Offer]:
    """Every candidate; those whose frequency may be chosen at a few of them, taken together."""
    free = [one for one in found if isinstance(one, Tunable) and not one.connection.last_resort]
    easiest = min((one.connection.effort for one in free), default=0.0)
    for one in found:
        if isinstance(one, Candidate):
            yield _Offer(one.reading, (partial(_itself, one),), one.cost)
    for tunable in free:
        tried = EASY_HZ if tunable.connection.effort == easiest else OTHER_HZ
        yield _together(tunable, tried, tunable.places)


def _itself(one: Candidate) -> Candidate:
    return one


def _together(tunable: Tunable, tried: Sequence[float], places: Sequence[str]) -> _Offer:
    makes = tuple(partial(tunable.one, place, f_hz) for f_hz in tried for place in places)
    return _Offer(tunable.every(tried, places), makes, tunable.cost)


def _foretold(
    possible: tuple[Possible, Possible], offers: Sequence[_Offer]
) -> list[list[_Foretold | None]]:
    """What each offer's numbers should show by either answer; None where it cannot be said."""
    try:
        return _predicted(possible, offers)
    except OhmbookError:
        return [_alone(possible, offer) for offer in offers]


def _alone(possible: tuple[Possible, Possible], offer: _Offer) -> list[_Foretold | None]:
    """An offer by itself; where it cannot be modelled as a whole, each of its numbers."""
    try:
        return _predicted(possible, [offer])[0]
    except OhmbookError:
        if len(offer.makes) == 1:
            return [None]
    singles = [_Offer(make().reading, (make,), offer.cost) for make in offer.makes]
    return [_alone(possible, one)[0] for one in singles]


def _predicted(
    possible: tuple[Possible, Possible], offers: Sequence[_Offer]
) -> list[list[_Foretold | None]]:
    one, other = possible
    readings = [offer.reading for offer in offers]
    compiled = compile_sheet(one.sheet, _with_referred(one.sheet, readings))
    if other.sheet is one.sheet:
        elsewhere = compiled
        y, z = compiled.predict(np.stack([_values(compiled, it) for it in possible]))
    else:
        elsewhere = compile_sheet(other.sheet, _with_referred(other.sheet, readings))
        y = compiled.predict(_values(compiled, one)[None])[0]
        z = elsewhere.predict(_values(elsewhere, other)[None])[0]
    here, there = _own(compiled), _own(elsewhere)
    return [
        [
            _number((compiled, y, a), (elsewhere, z, b))
            for a, b in zip(_last(here, offer), _last(there, offer), strict=True)
        ]
        for offer in offers
    ]


def _own(compiled: Compiled) -> dict[str, list[int]]:
    """Where each reading's rows stand."""
    found: dict[str, list[int]] = {}
    for k, row in enumerate(compiled.rows):
        found.setdefault(row.reading, []).append(k)
    return found


def _last(rows: Mapping[str, list[int]], offer: _Offer) -> list[int | None]:
    """The rows of what an offer is taken for: its last ones."""
    count = len(offer.makes)
    own = rows.get(offer.reading.name, [])[-count:]
    return [*own, *[None] * (count - len(own))]


_Place = tuple[Compiled, Array, int | None]


def _number(here: _Place, there: _Place) -> _Foretold | None:
    (compiled, y, a), (elsewhere, z, b) = here, there
    if a is None or b is None or not (np.isfinite(y[a]) and np.isfinite(z[b])):
        return None
    variance = max(compiled.covariance[a, a], elsewhere.covariance[b, b])
    return _Foretold((float(y[a]), float(z[b])), float(np.sqrt(variance)), compiled.rows[a].unit)


def _with_referred(sheet: Sheet, readings: Sequence[Reading]) -> Sequence[ReadingBase]:
    """Readings, and before them those of the sheet that they refer to: a meter's leads."""
    named = {ref.name for one in readings for ref in one.references() if ref.noun == "reading"}
    return [*(one for one in sheet.readings if one.name in named), *readings]


def _values(compiled: Compiled, possible: Possible) -> Array:
    return np.array(
        [
            possible.values.get(
                one.id, exp(one.prior.centre) if one.scale == "log" else one.prior.centre
            )
            for one in compiled.unknowns
        ]
    )


def _shown(value: float, unit: Unit) -> str:
    return show_plain(value, unit, 2, "pp" if unit == "V" else None)
