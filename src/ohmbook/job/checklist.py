"""A plan of readings as a checklist: what to clip and probe in order, and what becomes of what is
typed into it, before anything is written."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import exp, isfinite
from typing import Any

import numpy as np

from ohmbook.bench.compile import compile_sheet
from ohmbook.bench.form import Form
from ohmbook.bench.kind import Reading
from ohmbook.bench.row import Row
from ohmbook.bench.volts import said_vpp
from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError, OhmbookError
from ohmbook.evidence import strains
from ohmbook.job.blanks import Blank, Plain, blanks, filled, headings, with_examples
from ohmbook.job.clipping import Clipped, clipped
from ohmbook.job.drafting import Draft, laid
from ohmbook.job.forms import forms
from ohmbook.job.known import plainly
from ohmbook.job.settled import Settled, settle
from ohmbook.job.trying import DOUBTFUL, URGENT, Valued, valued
from ohmbook.job.wanted import first_of_all, good_enough
from ohmbook.sheet.read import sheet_of

SETTING = ("kind", "name", "table", "note", "source", "instrument")
"""What a step does not tell as a setting of its own."""

EACH_MIN, SET_UP_MIN = 1.0, 4.0
"""What a number and a set-up take, min (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Step:
    """One reading of a plan.

    Args:
        name: what the reading is called.
        heading: what is done.
        reading: its plain values, "?" where something is to be read.
        set_ups: what is connected, each with its cautions.
        settings: what is set, in words, by label.
        groups: the blanks by where the probe goes, in order.
    """

    name: str
    heading: str
    reading: Plain
    set_ups: tuple[Clipped, ...]
    settings: tuple[tuple[str, str], ...]
    groups: tuple[tuple[str, tuple[Blank, ...]], ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """What is known of one blank.

    Args:
        expected: what it should show, in words; "" where that cannot be told.
        unit: that a number without one is taken in, once something is expected.
        state: "good", "doubtful", "alone" (nothing else checks it) or "bad" (cannot be read); ""
            where nothing is typed.
        told: the same in words; "" where the state says all.
    """

    expected: str = ""
    unit: str = ""
    state: str = ""
    told: str = ""


@dataclass(frozen=True, slots=True)
class Checked:
    """What a plan comes to with what is typed so far.

    Args:
        cells: by step and place.
        values: of every part, as the readings have it by now.
        enough: whether that is good enough, in words; "" where nothing is wanted.
        reached: whether it is.
        told: what does not fit.
        doubts: what of it speaks against the sketch.
        first: what to put right before anything else is read; "" where nothing.
        trouble: why the board cannot be worked out; "" where it can.
    """

    cells: Mapping[str, Mapping[str, Cell]]
    values: tuple[tuple[str, Valued], ...] = ()
    enough: str = ""
    reached: bool = False
    told: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    first: str = ""
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class Typed:
    """A planned reading with what was typed into it, by place."""

    name: str
    reading: Plain
    numbers: Mapping[str, str]


def form_at(reading: Mapping[str, Any]) -> Form:
    """The form of a reading's kind.

    Raises:
        CallError: there is no such kind.
    """
    for one in forms():
        if one.kind == reading.get("kind"):
            return one
    raise CallError(f'There is no kind of reading called "{reading.get("kind")}".')


def steps(
    raw: Plain, names: Sequence[str], planned: Sequence[tuple[str, Plain]]
) -> tuple[Step, ...]:
    """The steps of a plan.

    Args:
        raw: the board's plain values.
        names: of its readings, in order.
        planned: each planned reading with its name.

    Raises:
        CallError: a reading is of no kind that there is.
    """
    return tuple(_step(raw, names, name, reading) for name, reading in planned)


def _step(raw: Plain, names: Sequence[str], name: str, reading: Plain) -> Step:
    form = form_at(reading)
    draft = Draft({**reading, "name": name}, {}, name if name in names else "")
    shown = with_examples(reading, form)
    on = laid(raw, names, Draft({**(shown or reading), "name": name}, {}, draft.revises))
    settings = [
        (field.label, _said(reading[field.name]))
        for field in form.fields
        if field.name in reading and field.name not in SETTING and not _asks(reading[field.name])
    ]
    return Step(
        name, form.heading, reading, clipped(on, form), tuple(settings), _groups(reading, form)
    )


def _asks(value: Any) -> bool:
    return value == "?" or (isinstance(value, Mapping) and "?" in value.values())


def _said(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{name}: {one}" for name, one in value.items())
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _groups(reading: Plain, form: Form) -> tuple[tuple[str, tuple[Blank, ...]], ...]:
    """The probe stays where it is for all frequencies there: fewer moves of the hand."""
    found: dict[str, list[Blank]] = {}
    for one in blanks(reading, form):
        found.setdefault(one.label, []).append(one)
    return tuple((label, tuple(held)) for label, held in found.items())


def minutes(planned: Sequence[Step]) -> int:
    """How long a plan takes, about."""
    numbers = sum(len(held) for one in planned for _, held in one.groups)
    whole = EACH_MIN * numbers + SET_UP_MIN * len(planned)
    return max(5, 5 * round(whole / 5.0))


def checked(
    raw: Plain,
    names: Sequence[str],
    typed: Sequence[Typed],
    stands: Callable[[], Settled] | None = None,
) -> Checked:
    """What a plan comes to with what is typed so far; nothing is written.

    Args:
        raw: the board's plain values.
        names: of its readings, in order.
        typed: every step.
        stands: the board as it stands, for where nothing is typed yet; worked out anew where None.

    Raises:
        CallError: something is typed where nothing is blank.
    """
    cells: dict[str, dict[str, Cell]] = {one.name: {} for one in typed}
    board = _named(raw, names, typed)
    planned = [_filled(one, cells[one.name]) for one in typed]
    try:
        if stands is not None and not any(map(_any, typed)):
            settled = stands()
        else:
            settled = settle(sheet_of(_with(board, planned), file="the board"))
        told = settled.findings
    except OhmbookError as error:
        return Checked(cells, trouble=str(error))
    shown = _expected(settled, board, typed)
    for one in typed:
        held, expected = cells[one.name], shown.get(one.name, {})
        marks = dict(_marks(settled, one))
        for blank in blanks(one.reading, form_at(one.reading)):
            words, mark = expected.get(blank.place, ""), marks.get(blank.place, "")
            unit = words.partition(" ")[2] or blank.unit
            if blank.place in held:
                held[blank.place] = Cell(words, unit, "bad", held[blank.place].told)
            else:
                held[blank.place] = Cell(words, unit, mark if _typed(one, blank) else "")
    enough = good_enough(settled)
    return Checked(
        cells,
        tuple((one.name, valued(one)) for one in _mains(settled)),
        "" if enough is None else str(enough["words"]),
        enough is not None and bool(enough["reached"]),
        tuple(plainly(one.message) for one in told if one.kind in URGENT),
        tuple(plainly(one.message) for one in told if one.kind == "sketch doubt"),
        _on_the_page(first_of_all(settled) or ""),
    )


def _on_the_page(words: str) -> str:
    """What is told first, without the command that shows more of it."""
    told = words.replace(
        ": see what ohmbook settle finds, and put that right first",
        ": look under Parts, and put right first what is found there",
    )
    return f"{told}." if told and not told.endswith(".") else told


def _any(one: Typed) -> bool:
    return any(text.strip() for text in one.numbers.values())


def _typed(one: Typed, blank: Blank) -> bool:
    return one.numbers.get(blank.place, "").strip() not in ("", "-")


def _named(raw: Plain, names: Sequence[str], typed: Sequence[Typed]) -> Plain:
    """The board with every reading's name told, without those that are planned."""
    planned = {one.name for one in typed}
    readings = [
        {**one, "name": name}
        for one, name in zip(raw.get("readings", []), names, strict=True)
        if name not in planned
    ]
    return {**raw, "readings": readings}


def _with(board: Plain, readings: Sequence[Plain]) -> Plain:
    return {**board, "readings": [*board["readings"], *readings]}


def _filled(one: Typed, cells: dict[str, Cell]) -> Plain:
    """A planned reading with what can be read of what was typed; what cannot is told."""
    form, found = form_at(one.reading), {**one.reading, "name": one.name}
    for place, text in one.numbers.items():
        try:
            found = filled(found, form, {place: text})
        except CallError as error:
            cells[place] = Cell(state="bad", told=str(error))
    return found


def _mains(settled: Settled) -> Iterator[Any]:
    seen: set[str] = set()
    for one in settled.estimates:
        part = settled.sheet.parts.get(one.name)
        if one.name not in seen and part is not None and part.kind != "driver":
            seen.add(one.name)
            yield one


def _marks(settled: Settled, one: Typed) -> Iterator[tuple[str, str]]:
    """How each number that is in fits the others; one that is left out is doubtful."""
    strained = {found.label: found for found in strains(settled.posterior)}
    heads = headings(one.reading)
    for row in settled.answer.compiled.rows:
        if row.reading != one.name or not row.label.startswith(f"{one.name}:"):
            continue
        found = strained.get(row.label)
        if found is None or abs(found.residual) > DOUBTFUL:
            state = "doubtful"
        elif found.unchecked:
            state = "alone"
        else:
            state = "good"
        for place in _places(row, one, heads):
            yield place, state


def _places(row: Row, one: Typed, heads: Mapping[str, str]) -> Iterator[str]:
    """Which blanks a row stands for."""
    node = row.label.rpartition(": ")[2].partition(" at ")[0]
    if row.place is not None:
        yield f"table.{row.place}.{heads.get(node, node)}"
        return
    places = [blank.place for blank in blanks(one.reading, form_at(one.reading))]
    own = [place for place in places if place.partition(".")[2] == node]
    yield from own or places


Shown = dict[str, dict[str, str]]


def _expected(settled: Settled, board: Plain, typed: Sequence[Typed]) -> Shown:
    """What each blank should show at the values by now, by step and place.

    Looked at twice: on which range a number is read hangs on what it is.
    """
    found: Shown = {}
    for _ in range(2):
        try:
            found = _shown(settled, board, typed, found)
        except OhmbookError:
            found = {k: v for one in typed for k, v in _alone(settled, board, one, found).items()}
    return found


def _alone(settled: Settled, board: Plain, one: Typed, before: Shown) -> Shown:
    try:
        return _shown(settled, board, [one], before)
    except OhmbookError:
        return {}


def _shown(settled: Settled, board: Plain, typed: Sequence[Typed], before: Shown) -> Shown:
    examples = {
        one.name: with_examples(one.reading, form_at(one.reading), before.get(one.name))
        for one in typed
    }
    given = [{**held, "name": name} for name, held in examples.items() if held is not None]
    sheet = sheet_of(_with(board, given), file="the board")
    found: Shown = {}
    foreseen = _foreseen(settled, sheet, {one["name"] for one in given})
    for one in typed:
        rows = foreseen.get(one.name, [])
        heads, held = headings(one.reading), found.setdefault(one.name, {})
        for row, value in rows:
            if row.place is not None:
                held |= dict.fromkeys(_places(row, one, heads), said_vpp(value))
        if rows and rows[-1][0].place is None:
            held |= _in_fields(sheet, one, rows[-1][1])
    return found


def _in_fields(sheet: Sheet, one: Typed, value: float) -> dict[str, str]:
    reading = next(held for held in sheet.readings if held.name == one.name)
    assert isinstance(reading, Reading)
    places = [blank.place for blank in blanks(one.reading, form_at(one.reading))]
    return {
        place: words
        for key, words in reading.expecting(value)[1].items()
        for place in places
        if place == key or place.partition(".")[2] == key
    }


def _foreseen(
    settled: Settled, sheet: Sheet, names: Container[str]
) -> dict[str, list[tuple[Row, float]]]:
    """What each of some readings' rows would show."""
    beliefs = {one.id: one.prior for one in settled.answer.compiled.unknowns}
    compiled = compile_sheet(sheet, beliefs=beliefs)
    posterior = settled.posterior
    known = dict(zip(posterior.ids, map(float, posterior.x), strict=True))
    x = [
        known.get(one.id, exp(one.prior.centre) if one.scale == "log" else one.prior.centre)
        for one in compiled.unknowns
    ]
    found: dict[str, list[tuple[Row, float]]] = {}
    values = np.asarray(compiled.predict(np.array([x])))[0]
    for row, value in zip(compiled.rows, map(float, values), strict=True):
        if row.reading in names and row.label.startswith(f"{row.reading}:") and isfinite(value):
            found.setdefault(row.reading, []).append((row, value))
    return found
