"""One part in full: its marking, every reading's own answer, where the doubt comes from."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ohmbook.documents.estimate import Estimate, Implied, Working
from ohmbook.job.known import Note, Value, notes, value
from ohmbook.job.settled import Settled
from ohmbook.report.cautions import all_cautions
from ohmbook.report.mathml import mathml
from ohmbook.report.ruler import Ruler, ruler
from ohmbook.report.words import is_main, percent
from ohmbook.units.show import split_interval

LEAST = 0.01
"""Share of the doubt below which causes are told together."""

_READING = re.compile(r"(.+?): ")


@dataclass(frozen=True, slots=True)
class Row:
    """One reading's own answer in the picture: places from 0 to 1 along the axis.

    `reading` is its name ("" for the settled value), `label` what of it; `past` tells the ends of
    the interval that lie beyond the axis.
    """

    reading: str
    label: str
    text: str
    low: float
    at: float
    high: float
    past: tuple[bool, bool]


@dataclass(frozen=True, slots=True)
class Picture:
    """Every reading's own answer beside the settled one.

    Args:
        rows: a reading each.
        settled: the band.
        ruler: the axis under them.
        unit: of its ticks.
    """

    rows: tuple[Row, ...]
    settled: Row
    ruler: Ruler


@dataclass(frozen=True, slots=True)
class Share:
    """A cause's share of the doubt: as a number, in words, and what would lessen it."""

    share: float
    words: str
    cause: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Worked:
    """A reading worked out by hand; each step in words, as MathML, and its result."""

    title: str
    reading: str
    steps: tuple[tuple[str, str, str], ...]
    source: str
    remark: str


@dataclass(frozen=True, slots=True)
class OnePart:
    """A part or source in full.

    Args:
        values: its quantities, the main one first.
        marking: the finding on its marking; None where nothing is marked.
        picture: None where no reading tells of it.
        shares: of the main value's doubt, the largest first.
        worked: its readings by hand.
        cautions: of its set-ups.
        notes: the other findings about it.
        readings: names of the readings that tell of it.
    """

    values: tuple[Value, ...]
    marking: Note | None
    picture: Picture | None
    shares: tuple[Share, ...]
    worked: tuple[Worked, ...]
    cautions: tuple[str, ...]
    notes: tuple[Note, ...]
    readings: tuple[str, ...]


def one_part(settled: Settled, name: str, raw: Mapping[str, Mapping[str, Any]]) -> OnePart:
    """Everything that is known of a part or source, in words.

    Args:
        settled: the state of things.
        name: the part's or the source's.
        raw: as for `known`.

    Returns:
        What there is; little of it where nothing has been read yet.
    """
    own = [one for one in settled.estimates if one.name == name]
    own.sort(key=lambda one: not is_main(one, own))
    rows = settled.implied(name)
    readings = tuple(dict.fromkeys(reading_of(one.label) for one in rows if not one.settled))
    about = [
        one
        for one in notes(settled, raw)
        if name in one.parts or any(reading in readings for reading in one.readings)
    ]
    ups = [one for one in settled.set_ups if one[0] in readings]
    marked = next((one for one in about if one.kind == "marking" and name in one.parts), None)
    return OnePart(
        tuple(map(value, own)),
        marked,
        picture(rows, own[0]) if len(rows) > 1 else None,
        _shares(settled, own[0]) if own and own[0].low < own[0].high else (),
        tuple(map(_worked, _workings(settled, readings))),
        tuple(all_cautions((), ups)),
        tuple(one for one in about if one.kind not in ("marking", "assumption")),
        readings,
    )


def reading_of(label: str) -> str:
    """The reading of a label such as "reading 5: w at 1.00 kHz"."""
    found = _READING.match(label)
    return label if found is None else found[1]


def picture(rows: Sequence[Implied], main: Estimate) -> Picture:
    """The picture of what each reading says alone.

    Args:
        rows: from `Settled.implied`, the settled value last.
        main: the estimate that they are of.
    """
    along = ruler([(one.low, one.value, one.high) for one in rows], main.unit)

    def placed(one: Implied) -> Row:
        shown = split_interval(one.value, one.low, one.high, main.unit, one.standard_uncertainty)
        low, at, high = map(along.place, (one.low, one.value, one.high))
        reading = "" if one.settled else reading_of(one.label)
        return Row(
            reading,
            one.label.removeprefix(f"{reading}: "),
            f"{shown.value} {shown.unit} ({shown.low} to {shown.high})",
            _inside(low),
            _inside(at),
            _inside(high),
            (low < 0.0, high > 1.0),
        )

    return Picture(tuple(map(placed, rows[:-1])), placed(rows[-1]), along)


def _inside(place: float) -> float:
    return min(max(place, 0.0), 1.0)


def _shares(settled: Settled, main: Estimate) -> tuple[Share, ...]:
    every = settled.budget(main.name, main.quantity)
    told = [one for one in every if one.share >= LEAST]
    rest = 1.0 - sum(one.share for one in told)
    found = [Share(one.share, percent(one.share), one.cause, one.remedy) for one in told]
    if every and rest > LEAST / 2:
        found.append(Share(rest, percent(rest), "", ""))
    return tuple(found)


def _workings(settled: Settled, readings: Sequence[str]) -> list[Working]:
    return [one for one in settled.workings() if one.reading in readings]


def _worked(one: Working) -> Worked:
    steps = tuple(
        (step.words, mathml(step.formula) if step.formula else "", mathml(step.result))
        for step in one.steps
    )
    return Worked(one.title, one.reading, steps, one.source, one.remark)
