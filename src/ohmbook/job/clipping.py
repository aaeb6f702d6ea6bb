"""Where each clip of a reading goes: its cautions first, then words, then the picture."""

from __future__ import annotations

from dataclasses import dataclass

from ohmbook.bench.desk import Desk
from ohmbook.bench.form import Form, FormField
from ohmbook.bench.kind import Reading
from ohmbook.documents.part import Driver
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.errors import OhmbookError
from ohmbook.figures.inline import inline_svg
from ohmbook.figures.setups import setup_diagram
from ohmbook.job.drafting import Laid
from ohmbook.job.forms import Plain
from ohmbook.sheet.fill import filled, named
from ohmbook.sheet.read import draft_of
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
        None where it cannot be told yet what is connected.
    """
    readings = [
        _with_examples(one, form) if one["name"] == on.name else one for one in on.raw["readings"]
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
    except (OhmbookError, LookupError, StopIteration):
        return ()


def _clipped(setup: SetUp, desk: Desk, drivers: list[str]) -> Clipped:
    clips = tuple(map(clip_words, setup.clips))
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


def clip_words(clip: Clip) -> str:
    """ "generator + to out"."""
    return f"{clip.name} {clip.lead.replace('-', '\N{MINUS SIGN}')} to {clip.node}"


def _with_examples(reading: Plain, form: Form) -> Plain:
    """A reading with an example wherever a number that is needed is blank."""
    found = {**reading}
    ways = [one for one in form.fields if one.way is not None and reading.get(one.name)]
    way = ways[0].way if ways else 0
    for one in form.fields:
        if one.way in (None, way) and one.required and not _sound(found.get(one.name), one):
            example = _example(one)
            if example is not None:
                found[one.name] = example
    return found


def _sound(value: object, field: FormField) -> bool:
    if field.what == "amounts" and isinstance(value, dict):
        return bool(value)
    return bool(value)


def _example(field: FormField) -> object:
    return field.example if field.what == "quantity" and field.example else None
