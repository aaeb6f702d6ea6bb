"""A drawing to be saved: what changes in a notebook, as one act.

The circuit follows the drawing. Where readings would lose a node or a part by it, the drawing is
saved all the same, and the circuit stays as it was: that is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ohmbook.circuit.network import Node
from ohmbook.documents.drawing import Drawing
from ohmbook.drawing.joined import joined
from ohmbook.drawing.nets import Known, Net, nets
from ohmbook.errors import CallError
from ohmbook.job.carried import Renamed, carried
from ohmbook.job.sketching import SKETCH, clipped, known_of
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import PARTS, READINGS, Subject
from ohmbook.notebook.notebook import Notebook
from ohmbook.sheet.read import check_alone, draft_of, reading_problems

_OWN = ("input", "outputs", "between", "drawing")
"""What of a sketch a drawing says."""


@dataclass(frozen=True, slots=True)
class PartEdit:
    """What becomes of one part.

    Args:
        was: its name so far; None for a new one.
        name: its name from now on; None where it is taken out of the notebook.
        raw: its plain values from now on.
        base: the entry that the writer saw.
    """

    was: str | None
    name: str | None
    raw: Mapping[str, Any] | None = None
    base: int | None = None


@dataclass(frozen=True, slots=True)
class SketchEdit:
    """A drawing to be saved, with what becomes of parts.

    Args:
        drawing: its plain values.
        base: the entry of the sketch that the writer saw, 0 for none.
        parts: those that change; the others stay.
    """

    drawing: Mapping[str, Any]
    base: int
    parts: Sequence[PartEdit] = ()


@dataclass(frozen=True, slots=True)
class ToSave:
    """What is to be written.

    Args:
        words: for the history.
        changes: all of them or none; empty where it all stands there already.
        held: why the circuit stays as it was although the drawing is another; "" where it follows.
    """

    words: str
    changes: tuple[Change, ...]
    held: str = ""


def to_save(book: Notebook, board: str, edit: SketchEdit) -> ToSave:
    """What saving a drawing writes.

    Args:
        book: as it stands.
        board: which.
        edit: what is drawn.

    Raises:
        OhmbookError: the drawing or a part is at fault, or a reading is of a part to be taken out.
    """
    plain = book.plain(board)
    check_alone({SKETCH: {"drawing": dict(edit.drawing)}}, file=f"the drawing of {board}")
    edit = replace(edit, drawing=Drawing.model_validate(dict(edit.drawing)).plain())
    now = _with_parts(plain, edit.parts, board)
    whole = _following(now, edit)
    before = {one.message for one in reading_problems(draft_of(plain))}
    held = _wrong(whole, before)
    if held:  # then no part of the circuit is taken out either
        there = known_of(draft_of(plain)).between
        kept = [one for one in edit.parts if one.name is not None or one.was not in there]
        now = _with_parts(plain, kept, board)
        whole = {**now, SKETCH: {**now.get(SKETCH, {}), "drawing": dict(edit.drawing)}}
        worse = _wrong(whole, before)
        if worse:
            raise CallError(f"{board}: {worse}; nothing was written.")
    changes = tuple(_changes(book, board, whole, edit))
    return ToSave(_words(board, edit.parts), changes, held)


def _wrong(raw: dict[str, Any], before: set[str]) -> str:
    """The first thing that would no longer hold with the readings; "" where all of it does."""
    draft = draft_of(raw)
    for one in reading_problems(draft):
        if one.message not in before:
            return f"{draft.readings[int(one.key[1])].name} would no longer stand ({one.message})"
    return ""


def _with_parts(plain: Mapping[str, Any], edits: Sequence[PartEdit], board: str) -> dict[str, Any]:
    """A board's plain values with its parts as they are to be; readings go along."""
    raws: dict[str, Any] = dict(plain.get(PARTS, {}))
    for one in edits:
        if one.was is not None and one.was not in raws:
            raise CallError(f'{board}: there is no part "{one.was}" any more; nothing was written.')
    gone = {one.was for one in edits if one.was is not None and one.was != one.name}
    left = {name: raw for name, raw in raws.items() if name not in gone}
    for one in edits:
        if one.name is None:
            continue
        if one.name in left and one.name != one.was:
            raise CallError(
                f'{board}: there is a part "{one.name}" already; nothing was written. Give this '
                "one a name of its own."
            )
        said = raws[one.was] if one.raw is None and one.was else one.raw or {}
        left[one.name] = {key: value for key, value in said.items() if value is not None}
        if one.was and "between" in raws[one.was]:  # for as long as the circuit may stay as it was
            left[one.name].setdefault("between", raws[one.was]["between"])
        check_alone({PARTS: {one.name: left[one.name]}}, file=board)
    names = {one.was: one.name for one in edits if one.was and one.name and one.was != one.name}
    return _renamed({**plain, PARTS: left}, Renamed(parts=names))


def _renamed(plain: dict[str, Any], renamed: Renamed) -> dict[str, Any]:
    if not renamed:
        return plain
    found = dict(plain)
    sketch = found.get(SKETCH, {})
    if renamed.parts and "between" in sketch:
        between = {renamed.parts.get(k, k): pair for k, pair in sketch["between"].items()}
        found[SKETCH] = {**sketch, "between": between}
    if READINGS in found:
        found[READINGS] = [carried(one, renamed) for one in found[READINGS]]
    return found


def _following(now: dict[str, Any], edit: SketchEdit) -> dict[str, Any]:
    """A board's plain values with the circuit that the drawing makes."""
    draft = draft_of(now)
    drawing = Drawing.model_validate(dict(edit.drawing))
    known = known_of(draft)
    found = nets(drawing, known)
    named = _named_anew(drawing, found, known)
    if named:
        now = _renamed(now, Renamed(nodes=named))
        draft = draft_of(now)
    circuit = joined(drawing, found, clipped(draft)).plain()
    sketch = {key: one for key, one in now.get(SKETCH, {}).items() if key not in _OWN}
    bare = {
        name: {key: one for key, one in raw.items() if key != "between"}
        for name, raw in now[PARTS].items()
    }
    drawn = {**sketch, **circuit, "drawing": dict(edit.drawing)}
    return {**now, PARTS: bare, SKETCH: drawn}


def _named_anew(drawing: Drawing, found: tuple[Net, ...], known: Known) -> dict[Node, Node]:
    """Nodes that are still there under another name, since one was written on them."""
    bare = drawing.model_copy(update={"names": ()})
    plainly = {spot: one.name for one in nets(bare, known) for spot in one.spots}
    names = {one.name for one in found}
    before = {node for pair in known.between.values() for node in pair}
    changed: dict[Node, Node] = {}
    for one in found:
        old = next((plainly[spot] for spot in one.spots if plainly.get(spot)), "")
        if one.written and old in before and old not in names and one.name not in before:
            changed.setdefault(old, one.name)
    return changed


def _changes(
    book: Notebook, board: str, whole: Mapping[str, Any], edit: SketchEdit
) -> Iterator[Change]:
    """What differs from what stands there, each with the entry that the writer saw."""
    plain = book.plain(board)
    bases = {one.was: one.base for one in edit.parts if one.was is not None}
    there, here = plain.get(PARTS, {}), whole[PARTS]
    for name in dict.fromkeys([*there, *here]):
        if there.get(name) != here.get(name):
            yield Change(Subject(board, PARTS, name), here.get(name), bases.get(name))
    if plain.get(SKETCH) != whole[SKETCH]:
        yield Change(Subject(board, SKETCH, ""), whole[SKETCH], edit.base)
    for kept, raw in zip(book.readings(board), whole.get(READINGS, ()), strict=True):
        if _unplaced(raw, kept.name, kept.raw) != kept.raw:
            changed = _unplaced(raw, kept.name, kept.raw)
            yield Change(kept.entry.subject, changed, kept.entry.id)


def _unplaced(raw: Mapping[str, Any], name: str, kept: Mapping[str, Any]) -> dict[str, Any]:
    """A reading without the name that only its place gave it."""
    if "name" not in kept and raw.get("name") == name:
        return {key: one for key, one in raw.items() if key != "name"}
    return dict(raw)


def _words(board: str, edits: Sequence[PartEdit]) -> str:
    told = [_said(one) for one in edits]
    shown = told if len(told) <= 4 else [*told[:3], f"{len(told) - 3} more"]
    return f"sketch of {board}" + (f": {', '.join(shown)}" if shown else "")


def _said(edit: PartEdit) -> str:
    if edit.was is None:
        return f"{edit.name} new"
    if edit.name is None:
        return f"{edit.was} taken out"
    return edit.name if edit.name == edit.was else f"{edit.was} is now {edit.name}"
