"""A board's values as people read them: every part and source, and what concerns it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.job.fixes import Fix, fixes
from ohmbook.job.mind import mind
from ohmbook.job.settled import Settled
from ohmbook.job.wanted import good_enough
from ohmbook.report.agreement import agreement_sentence
from ohmbook.report.estimates import note
from ohmbook.report.findings import URGENT
from ohmbook.report.words import HEADINGS, chance, how_well, is_main
from ohmbook.units.show import split, split_interval

Plain = Mapping[str, Any]
_HOW_TO_WRITE = " Nothing was changed"
"""How a sheet would mend a slip begins so; a page mends it by itself."""

_LEAST = 0.01
"""Meanings of a marking that were never likelier than this are left out."""


@dataclass(frozen=True, slots=True)
class Value:
    """An estimate in words.

    Args:
        quantity: "inductance", "capacitance" or "resistance".
        text, unit: the number and its unit, apart.
        span: the interval, "0.797 to 0.844"; "" where it is exact.
        well: "±2.4 %", "factor 4", "exact".
        basis: how it is known.
        state: "told" by the readings, "stated" in the sheet, or only "believed".
    """

    quantity: str
    text: str
    unit: str
    span: str
    well: str
    basis: str
    state: str


@dataclass(frozen=True, slots=True)
class Why:
    """What would explain a finding, with its odds in words ("" where they are not known)."""

    what: str
    change: str
    odds: str
    before: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A finding as a note.

    Args:
        kind: of finding.
        heading: the same in plain words.
        urgent: to be looked at before any value is relied on.
        message: in full.
        readings, parts: what it is about.
        whys: what would explain it.
        fixes: corrections that can be written down as they are.
    """

    kind: str
    heading: str
    urgent: bool
    message: str
    readings: tuple[str, ...]
    parts: tuple[str, ...]
    whys: tuple[Why, ...]
    fixes: tuple[Fix, ...] = ()


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a board.

    Args:
        values: of every part and source by name, the main one first.
        agree: do the readings agree, in a sentence; "" where nothing is read.
        mind: what puts every value in question; "" where nothing does.
        enough: whether it is good enough, in a sentence; "" where that cannot be said.
        notes: what there is to tell, the gravest first, without what is taken for granted.
        granted: what is taken for granted.
    """

    values: Mapping[str, tuple[Value, ...]]
    agree: str
    mind: str
    enough: str
    notes: tuple[Note, ...]
    granted: tuple[Note, ...]


def known(settled: Settled, raw: Mapping[str, Plain]) -> Known:
    """What is known of a board, in words.

    Args:
        settled: the state of things.
        raw: plain values of its readings by name, as the notebook has them, for what mends them.
    """
    values: dict[str, tuple[Value, ...]] = {}
    for one in settled.estimates:
        shown = value(one)
        had = values.get(one.name, ())
        main = is_main(one, settled.estimates)
        values[one.name] = (shown, *had) if main else (*had, shown)
    every = notes(settled, raw)
    read = bool(settled.answer.compiled.rows)
    enough = good_enough(settled) if read else None
    return Known(
        values,
        agreement_sentence(settled.consistency) if read else "",
        mind(settled) or "",
        "" if enough is None else str(enough["words"]),
        tuple(one for one in every if one.kind != "assumption"),
        tuple(one for one in every if one.kind == "assumption"),
    )


def value(one: Estimate) -> Value:
    """An estimate in words."""
    if one.low >= one.high:
        text, unit = split(one.value, one.unit)
        span = ""
    else:
        shown = split_interval(one.value, one.low, one.high, one.unit, one.standard_uncertainty)
        text, unit, span = shown.value, shown.unit, f"{shown.low} to {shown.high}"
    state = "told" if one.determined else "stated" if "stated" in one.basis else "believed"
    return Value(one.quantity, text, unit, span, how_well(one), note(one), state)


def notes(settled: Settled, raw: Mapping[str, Plain]) -> tuple[Note, ...]:
    """Every finding as a note, the gravest first; slips with what mends them."""
    slips = iter(settled.slips)
    found = []
    for one in settled.findings:
        slip = next(slips, None) if one.kind == "slip" else None
        mending = () if slip is None else fixes(settled.sheet, slip, raw)
        found.append(_note(one, mending))
    order = list(HEADINGS)
    return tuple(sorted(found, key=lambda one: order.index(one.kind)))  # type: ignore[arg-type]


def plainly(message: str) -> str:
    """A finding's message without how a sheet is to be changed for it."""
    return message.partition(_HOW_TO_WRITE)[0]


def _note(one: Finding, mending: tuple[Fix, ...]) -> Note:
    whys = map(_why, one.explanations)
    return Note(
        one.kind,
        HEADINGS[one.kind],
        one.kind in URGENT,
        plainly(one.message),
        one.readings,
        one.parts,
        tuple(why for why, told in zip(whys, one.explanations, strict=True) if _open(told)),
        mending,
    )


def _why(one: Explanation) -> Why:
    odds = "" if one.probability is None else chance(one.probability)
    return Why(one.what, one.change, odds, "" if one.before is None else chance(one.before))


def _open(one: Explanation) -> bool:
    shares = [share for share in (one.before, one.probability) if share is not None]
    return not shares or max(shares) >= _LEAST
