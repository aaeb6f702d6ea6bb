"""The reading that would tell two answers apart, among those that the kinds offer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
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
    """What one answer foretells of a candidate."""

    value: float
    u: float
    unit: Unit


def telling(answer: Answer, one: Possible, other: Possible) -> Telling | None:
    """The cheapest reading that separates two answers by far; None where none is offered.

    Args:
        answer: the state of knowledge that the kinds are asked from.
        one: an answer that fits.
        other: another.
    """
    desk = Desk(answer.compiled.sheet, answer.compiled.beliefs)
    offered = list(_offered(desk, answer))
    first, second = _foretold((one, other), offered)
    best: Telling | None = None
    for candidate in offered:
        a, b = first.get(candidate.reading.name), second.get(candidate.reading.name)
        if a is None or b is None:
            continue
        size = np.hypot(max(a.u, b.u), _BENCH * max(abs(a.value), abs(b.value)))
        distance = float(abs(a.value - b.value) / size) / np.sqrt(candidate.cost)
        if distance > TELLING and (best is None or distance > best.distance):
            best = Telling(candidate, (_shown(a), _shown(b)), float(distance))
    return best


def _offered(desk: Desk, answer: Answer) -> Iterator[Candidate]:
    """Every candidate; those whose frequency may be chosen at a few of them."""
    found = [one for kind in KINDS for one in kind.candidates(desk, answer)]
    free = [one for one in found if isinstance(one, Tunable) and not one.connection.last_resort]
    easiest = min((one.connection.effort for one in free), default=0.0)
    yield from (one for one in found if isinstance(one, Candidate))
    for one in free:
        tried = EASY_HZ if one.connection.effort == easiest else OTHER_HZ
        yield from (one.one(place, f_hz) for f_hz in tried for place in one.places)


def _foretold(
    possible: tuple[Possible, Possible], offered: Sequence[Candidate]
) -> tuple[dict[str, _Foretold], dict[str, _Foretold]]:
    """What each candidate's last row should show by either answer; those that cannot be modelled
    are left out."""
    readings = [one.reading for one in offered]
    try:
        return _predicted(possible, readings)
    except OhmbookError:
        found: tuple[dict[str, _Foretold], dict[str, _Foretold]] = {}, {}
        for one in readings:
            try:
                alone = _predicted(possible, [one])
            except OhmbookError:
                continue
            for known, more in zip(found, alone, strict=True):
                known.update(more)
        return found


def _predicted(
    possible: tuple[Possible, Possible], readings: Sequence[Reading]
) -> tuple[dict[str, _Foretold], dict[str, _Foretold]]:
    one, other = possible
    compiled = compile_sheet(one.sheet, _with_referred(one.sheet, readings))
    if other.sheet is one.sheet:
        both = _values(compiled, one), _values(compiled, other)
        y = compiled.predict(np.stack(both))
        return _told(compiled, y[0]), _told(compiled, y[1])
    elsewhere = compile_sheet(other.sheet, _with_referred(other.sheet, readings))
    pairs = ((compiled, one), (elsewhere, other))
    first, second = (made.predict(_values(made, it)[None])[0] for made, it in pairs)
    return _told(compiled, first), _told(elsewhere, second)


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


def _told(compiled: Compiled, y: Array) -> dict[str, _Foretold]:
    u = np.sqrt(np.diag(compiled.covariance))
    return {
        row.reading: _Foretold(float(value), float(own), row.unit)
        for row, value, own in zip(compiled.rows, y, u, strict=True)
        if np.isfinite(value)
    }


def _shown(one: _Foretold) -> str:
    return show_plain(one.value, one.unit, 2, "pp" if one.unit == "V" else None)
