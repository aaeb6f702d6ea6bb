"""A reading tried before it is written: what it makes of the values, and what does not fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import log

from ohmbook.bench.form import Form
from ohmbook.counsel.rewrite import in_column
from ohmbook.counsel.screening import Supposed
from ohmbook.counsel.slip_words import shown
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import Finding
from ohmbook.documents.reference import references
from ohmbook.documents.table import Table
from ohmbook.errors import OhmbookError
from ohmbook.evidence import strains
from ohmbook.job.drafting import Fault, Fix, Laid, faults
from ohmbook.job.settled import Settled, settle
from ohmbook.report.agreement import agreement_sentence
from ohmbook.sheet.read import sheet_of
from ohmbook.units.show import show_plain, show_spread, split_interval

MOST = 6
"""Values shown beside a form at most."""

MOVED = 0.05
"""What changes its value or its interval by less is not shown as moved."""

DOUBTFUL = 3.0
"""Deleted residual, in standard uncertainties, from which a cell is told as doubtful."""

URGENT = ("slip", "strained", "two answers", "sketch doubt")


@dataclass(frozen=True, slots=True)
class Valued:
    """A value with its interval, as people see it.

    Args:
        value, low, high, unit: texts; the unit is of all three.
        spread: half of the interval, in percent or as a factor.
        at: where it holds, "at 5.6 kHz"; empty for resistances.
        determined: whether the readings determine it.
        span: the interval's ends and the value on a log scale, for a picture.
    """

    value: str
    low: str
    high: str
    unit: str
    spread: str
    at: str
    determined: bool
    span: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Moved:
    """One quantity before and after; None where it was not there."""

    name: str
    quantity: str
    before: Valued | None
    after: Valued


@dataclass(frozen=True, slots=True)
class Told:
    """Something that does not fit, with what would mend it.

    Args:
        kind: of the finding.
        message: in words.
        fixes: in this reading.
        readings: which readings it is about.
    """

    kind: str
    message: str
    fixes: tuple[Fix, ...] = ()
    readings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Mark:
    """How a cell of a table fits: "good" or "doubtful"; row from 1."""

    row: int
    column: str
    state: str
    message: str = ""


@dataclass(frozen=True, slots=True)
class Tried:
    """What a draft comes to.

    Args:
        faults: what is wrong with it; where anything is, the rest is empty but for what is known so
            far of the part that it names.
        moved: values before and after, the ones it is about first.
        agree: whether the readings agree, in a sentence.
        told: what does not fit.
        marks: of the cells of its table.
        trouble: why the board cannot be worked out with it; "" where it can.
    """

    faults: tuple[Fault, ...] = ()
    moved: tuple[Moved, ...] = ()
    agree: str = ""
    told: tuple[Told, ...] = ()
    marks: tuple[Mark, ...] = ()
    trouble: str = ""


def tried(on: Laid, form: Form, before: Settled | None) -> Tried:
    """What a draft comes to, nothing being written.

    Args:
        on: the board with the draft on it.
        form: of its kind.
        before: the board without it; None where it cannot be worked out.
    """
    wrong = faults(on, form)
    if wrong:
        return Tried(wrong, _standing(before, on))
    try:
        settled = settle(sheet_of(on.raw, kinds=on.kinds, file="the board"))
        findings = settled.findings
    except OhmbookError as error:
        return Tried(trouble=str(error))
    return Tried(
        (),
        _moved(settled, before, on.name),
        agreement_sentence(settled.consistency),
        tuple(_told(settled, findings, before, on.name)),
        tuple(_marks(settled, on.name)),
    )


def valued(one: Estimate) -> Valued:
    """An estimate as people see it."""
    shown_as = split_interval(one.value, one.low, one.high, one.unit, one.standard_uncertainty)
    at = "" if one.frequency_hz is None else show_plain(one.frequency_hz, "Hz")
    low, high = max(one.low, 1e-30), max(one.high, 1e-30)
    return Valued(
        shown_as.value,
        shown_as.low,
        shown_as.high,
        shown_as.unit,
        show_spread(one.value, one.low, one.high),
        at,
        one.determined,
        (log(low), log(max(one.value, 1e-30)), log(high)),
    )


def _moved(settled: Settled, before: Settled | None, name: str) -> tuple[Moved, ...]:
    earlier = {} if before is None else {(one.name, one.quantity): one for one in before.estimates}
    about = _about(settled, name)
    found: list[tuple[float, Moved]] = []
    firsts: set[str] = set()
    for one in settled.estimates:
        was, own = earlier.get((one.name, one.quantity)), one.name in about
        gain = _gain(was, one)
        first = one.name not in firsts
        firsts.add(one.name)
        if (own and (first or one.determined)) or gain > MOVED:
            was_valued = None if was is None else valued(was)
            rank = (0.0 if own else 2.0) + (0.0 if first else 1.0) - min(gain, 50.0) / 100.0
            found.append((rank, Moved(one.name, one.quantity, was_valued, valued(one))))
    return tuple(one for _, one in sorted(found, key=lambda pair: pair[0])[:MOST])


def _standing(before: Settled | None, on: Laid) -> tuple[Moved, ...]:
    """What is known so far of the part that a draft names."""
    part = on.reading.get("part")
    found = () if before is None else before.estimates
    now = next((valued(one) for one in found if one.name == part), None)
    first = next((one for one in found if one.name == part), None)
    return () if now is None or first is None else (Moved(first.name, first.quantity, now, now),)


def _about(settled: Settled, name: str) -> set[str]:
    """What a reading names: parts, and its source where it names no part."""
    reading = next(one for one in settled.sheet.readings if one.name == name)
    named = references(reading)
    parts = {one.name for one in named if one.noun == "part" and one.key[0] != "detached"}
    return parts or {one.name for one in named if one.noun == "source"}


def _gain(was: Estimate | None, one: Estimate) -> float:
    """How much a value has moved, or its interval narrowed, relative."""
    if was is None:
        return 1.0 if one.determined else 0.0
    width, width_was = one.high - one.low, was.high - was.low
    narrower = max(width_was / width - 1.0, 1.0 - width_was / width) if width > 0.0 else 0.0
    further = abs(one.value - was.value) / max(width_was, 1e-30)
    return max(narrower, further)


def _told(
    settled: Settled, findings: tuple[Finding, ...], before: Settled | None, name: str
) -> Iterator[Told]:
    """What does not fit with the draft on the board and did fit before, or is about it."""
    known = set() if before is None else {one.message for one in before.findings}
    about = _about(settled, name)
    slips = iter(settled.slips)
    for one in findings:
        slip = next(slips, None) if one.kind == "slip" else None
        own = name in one.readings or (one.kind == "marking" and about.intersection(one.parts))
        if not own and (one.kind not in URGENT or one.message in known):
            continue
        if own and one.kind not in (*URGENT, "marking"):
            continue
        fixes: tuple[Fix, ...] = ()
        if slip is not None and name in one.readings:
            corrections = [told.best for told in shown(slip)]
            pairs = zip(one.explanations, corrections, strict=False)
            fixes = tuple(
                Fix(
                    _why(words.what),
                    _place(fix.site.key, settled, name),
                    _text(fix),
                    words.probability,
                )
                for words, fix in pairs
                if _touchable(fix, settled, name)
            )
        yield Told(one.kind, _spoken(one.message, name), fixes, one.readings)


def _spoken(message: str, name: str) -> str:
    """A finding to one who has the reading before them, without how a sheet would say it."""
    said = message.partition(" Nothing was changed")[0].replace(' (struck = "why")', "")
    return said.removeprefix(f"{name}: ")


def _why(what: str) -> str:
    """Why it would fit, of "3.881 MHz fits as 3.881 kHz (the wrong prefix)"."""
    return what.partition(" (")[2].removesuffix(")") or what


def _touchable(fix: Supposed, settled: Settled, name: str) -> bool:
    group, key = fix.site.owner
    own = group == "readings" and settled.sheet.readings[int(key)].name == name
    return own and not fix.free and fix.site.what in ("quantity", "cell", "choice", "done")


def _text(fix: Supposed) -> str:
    site = fix.site
    if site.what != "cell":
        return fix.text
    table = getattr(fix.sheet.readings[int(site.owner[1])], site.field)
    assert isinstance(table, Table)
    return in_column(table.columns[int(site.key[2])], site, fix.text)


def _place(key: tuple[str | int, ...], settled: Settled, name: str) -> tuple[str | int, ...]:
    """A table's column by its heading."""
    if len(key) < 3:
        return key
    reading = next(one for one in settled.sheet.readings if one.name == name)
    columns = getattr(reading, str(key[0])).columns
    return (key[0], key[1], columns[int(key[2])].heading)


def _marks(settled: Settled, name: str) -> Iterator[Mark]:
    """How the cells of the draft's table fit the others; one that is left out is doubtful."""
    strained = {one.label: one for one in strains(settled.posterior)}
    headings = _headings(settled, name)
    for row in settled.answer.compiled.rows:
        if row.reading != name or row.place is None:
            continue
        node = row.label.rpartition(": ")[2].partition(" at ")[0]
        one = strained.get(row.label)
        if one is None or abs(one.residual) > DOUBTFUL:
            yield Mark(row.place, headings.get(node, node), "doubtful")
        elif not one.unchecked:
            yield Mark(row.place, headings.get(node, node), "good")


def _headings(settled: Settled, name: str) -> dict[str, str]:
    """A table's headings by their nodes."""
    reading = next(one for one in settled.sheet.readings if one.name == name)
    tables = [one for one in dict(reading).values() if isinstance(one, Table)]
    return {one.name: one.heading for table in tables for one in table.columns}
