"""Where each clip of a reading goes: its cautions first, then words, then the picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ohmbook.bench.desk import Desk
from ohmbook.bench.form import Form, FormField
from ohmbook.bench.kind import Reading
from ohmbook.documents.part import Driver
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.documents.table import read_table
from ohmbook.errors import OhmbookError
from ohmbook.figures.inline import inline_svg
from ohmbook.figures.setups import setup_diagram
from ohmbook.job.drafting import Laid
from ohmbook.job.forms import Plain
from ohmbook.sheet.fill import filled, named
from ohmbook.sheet.read import draft_of
from ohmbook.units.parse import parse_quantity
from ohmbook.units.show import show_plain


@dataclass(frozen=True, slots=True)
class Clipped:
    """One set-up, in the order in which it is to be shown.

    Args:
        title: what is connected to what.
        cautions: what to mind before anything is connected.
        clips: where each clip goes, in words.
        notes: what is changed on the board.
        picture: SVG for inside a page.
    """

    title: str
    cautions: tuple[str, ...]
    clips: tuple[str, ...]
    notes: tuple[str, ...]
    picture: str


def clipped(on: Laid, form: Form) -> tuple[Clipped, ...]:
    """The set-ups of a draft, with examples where its numbers are still blank.

    Args:
        on: the board with the draft on it.
        form: of its kind.

    Returns:
        Nothing where it cannot be told yet what is connected.
    """
    nodes = _nodes(on.raw)
    readings = [
        _with_examples(one, form, nodes) if one["name"] == on.name else one
        for one in on.raw["readings"]
    ]
    try:
        sheet = filled(named(draft_of({**on.raw, "readings": readings}, on.kinds)))
        reading = next(one for one in sheet.readings if one.name == on.name)
        if not isinstance(reading, Reading):
            return ()
        desk = Desk(sheet)
        found = reading.set_ups(desk)
        drivers = [name for name, part in sheet.parts.items() if isinstance(part, Driver)]
        return tuple(_clipped(one, desk, drivers) for one in found)
    except (OhmbookError, LookupError, StopIteration, AssertionError):
        return ()  # half written: a kind may count on what its own check would have asked for


def _nodes(raw: Plain) -> list[str]:
    """The board's nodes but its ground; what cannot be read is left out."""
    sketch = raw.get("sketch") or {}
    held = [one.get("between") for one in raw.get("parts", {}).values() if isinstance(one, dict)]
    pairs = [one for one in (*held, *sketch.get("between", {}).values()) if isinstance(one, list)]
    found = dict.fromkeys(node for pair in pairs for node in pair if isinstance(node, str))
    return [one for one in found if one != sketch.get("ground", "gnd")]


def _clipped(setup: SetUp, desk: Desk, drivers: list[str]) -> Clipped:
    clips = clip_words(setup.clips)
    labels = {
        branch.owner: show_plain(ohms, "ohm")
        for branch in setup.network.branches
        if branch.owner not in setup.leads and branch.owner not in desk.sheet.parts
        if (ohms := desk.constants.get((branch.owner, "resistance")))
    }
    title = setup.title[:1].upper() + setup.title[1:]
    words = f"{title}. {'; '.join(clips)}."
    picture = inline_svg(setup_diagram(setup, labels, drivers), words)
    return Clipped(title, setup.cautions, clips, setup.notes, picture)


def clip_words(clips: Sequence[Clip]) -> tuple[str, ...]:
    """Each lead with where it goes, one that moves in the order it is moved:
    "scope tip to in, then w"."""
    found: dict[tuple[str, str], list[str]] = {}
    for one in clips:
        found.setdefault((one.name, one.lead.replace("-", "\N{MINUS SIGN}")), []).append(one.node)
    return tuple(f"{name} {lead} to {', then '.join(at)}" for (name, lead), at in found.items())


def _with_examples(reading: Plain, form: Form, nodes: Sequence[str]) -> Plain:
    """A reading with an example wherever a number that is needed is blank or half typed."""
    found = {**reading}
    chosen = [one.way for one in form.fields if one.way is not None and reading.get(one.name)]
    way = chosen[0] if chosen else 0
    for one in form.fields:
        written = found.get(one.name)
        if one.way not in (None, way) or not (one.required or written):
            continue
        found[one.name] = _exemplary(one, written, nodes)
    return {name: value for name, value in found.items() if value is not None}


def _exemplary(field: FormField, written: Any, nodes: Sequence[str]) -> Any:
    """What is written where it can be read, an example otherwise; None where there is none."""
    if field.what == "quantity":
        named = isinstance(written, str) and field.instead is not None and written[:1].isalpha()
        at_sign = isinstance(written, str) and written[:1] == "@"
        return written if named or at_sign or _reads(written, field) else field.example or None
    if field.what == "amounts":
        held = written if isinstance(written, dict) else {}
        names = list(held) or (list(nodes[:1]) if field.noun == "node" else [])
        return {
            one: held[one] if _reads(held.get(one), field) else field.example for one in names
        } or None
    if field.what == "table":
        return _readable(written if isinstance(written, str) else "", nodes)
    return written


def _reads(written: object, field: FormField) -> bool:
    try:
        parse_quantity(written, field.unit or "1")
    except OhmbookError:
        return False
    return True


def _readable(text: str, nodes: Sequence[str]) -> str | None:
    """A table, or its headings with a row of ones where what stands in it cannot be read yet."""
    try:
        if any(cell for row in read_table(text).rows for cell in row.cells[1:]):
            return text
    except OhmbookError:
        pass
    lines = [line for line in text.splitlines() if line.strip()]
    heads = lines[0] if lines else " ".join(["frequency/kHz", *(f"{one}/Vpp" for one in nodes)])
    return f"{heads}\n{' '.join('1' for _ in heads.split())}" if lines or nodes else None
