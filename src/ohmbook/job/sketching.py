"""The sketch of a board as a person draws it: how it lies, what it joins, what is doubtful."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ohmbook.circuit.network import Node, Pair
from ohmbook.documents.drawing import Drawing
from ohmbook.documents.part import Sketch
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.documents.table import Table
from ohmbook.drawing.joined import Joined, joined
from ohmbook.drawing.lay_out import lay_out
from ohmbook.drawing.nets import Known, Net, nets
from ohmbook.drawing.remarks import Drawn, Remark, differences, remarks
from ohmbook.drawing.shapes import raw_part, shapes
from ohmbook.notebook.ink import PARTS, Subject
from ohmbook.notebook.notebook import Notebook
from ohmbook.sheet.fill import nodes_of
from ohmbook.sheet.read import draft_of

SKETCH = "sketch"


@dataclass(frozen=True, slots=True)
class SketchedPart:
    """A part as the sketch shows it.

    Args:
        raw: its plain values.
        base: the entry that it stands by.
        bare: nothing is known of it but what it is, and no reading is of it.
    """

    name: str
    raw: Mapping[str, Any]
    base: int
    bare: bool


@dataclass(frozen=True, slots=True)
class Sketched:
    """A board's sketch.

    Args:
        drawing: how it lies; laid out anew where nobody has drawn it yet.
        begun: whether somebody has.
        base: the entry that the sketch stands by; 0 where there is none.
        parts: every part of the board, drawn or not.
        drawn: what the drawing joins.
        remarks: what is doubtful.
        probed: how often each node has been read.
    """

    drawing: Drawing
    begun: bool
    base: int
    parts: tuple[SketchedPart, ...]
    drawn: Drawn
    remarks: tuple[Remark, ...]
    probed: Mapping[Node, int]

    def document(self) -> dict[str, Any]:
        """The sketch as a JSON object."""
        return {
            "drawing": self.drawing.plain(),
            "begun": self.begun,
            "base": self.base,
            "parts": [
                {"name": one.name, "raw": dict(one.raw), "base": one.base, "bare": one.bare}
                for one in self.parts
            ],
            **told(self.drawn, self.remarks),
            "probed": dict(self.probed),
        }


def told(drawn: Drawn, found: tuple[Remark, ...]) -> dict[str, Any]:
    """What a drawing joins and what is doubtful, as JSON."""
    return {
        "nets": [net_document(one) for one in drawn.nets],
        "left_out": list(drawn.joined.left_out),
        "remarks": [one.document() for one in found],
    }


def net_document(net: Net) -> dict[str, Any]:
    """A node as a JSON object; a part's ends are 0 and 1."""
    return {
        "name": net.name,
        "spots": [list(one) for one in net.spots],
        "wires": list(net.wires),
        "ends": [list(one) for one in net.ends],
        "ground": net.grounded,
    }


def sketched(book: Notebook, board: str) -> Sketched:
    """A board's sketch, as it stands in a notebook.

    Args:
        book: which.
        board: its name.

    Raises:
        CallError: there is no such board.
    """
    plain = book.plain(board)
    draft, view = draft_of(plain), book.view()
    sketch = draft.sketch or Sketch()
    between = drawable(draft)
    drawing = sketch.drawing or lay_out(sketch, draft.parts, between)
    drawn = looked_at(drawing, draft)
    found = (*differences(drawn, Joined(between)), *remarks(drawn))

    def base(section: str, key: str) -> int:
        head = view.head(Subject(board, section, key))
        return 0 if head is None else head.id

    raws = plain.get(PARTS, {})
    used = referred(draft)
    parts = tuple(
        SketchedPart(name, raw, base(PARTS, name), is_bare(draft, name, raw, used))
        for name, raw in raws.items()
    )
    return Sketched(
        drawing,
        sketch.drawing is not None,
        base(SKETCH, ""),
        parts,
        drawn,
        found,
        _probed(draft),
    )


def laid_out(book: Notebook, board: str) -> dict[str, Any]:
    """A drawing of the circuit that a board is worked out with, whatever is drawn, as JSON."""
    draft = draft_of(book.plain(board))
    return lay_out(draft.sketch or Sketch(), draft.parts, drawable(draft)).plain()


def every_shape() -> list[dict[str, Any]]:
    """Networks to begin with, as JSON."""
    return [one.document() for one in shapes()]


def drawable(draft: Sheet) -> dict[str, Pair]:
    """The nodes of every part that has some."""
    return {name: pair for name, pair in nodes_of(draft).items() if name in draft.parts}


def known_of(draft: Sheet) -> Known:
    """What nodes are called so far, so that they keep their names."""
    ground = draft.sketch.ground if draft.sketch else Sketch().ground
    read = {node for one in draft.readings for node in read_nodes(one)}
    return Known(nodes_of(draft), ground, clipped(draft) | read)


def looked_at(drawing: Drawing, draft: Sheet, known: Known | None = None) -> Drawn:
    """A drawing with what it joins.

    Args:
        drawing: what is drawn.
        draft: the board's parts and readings.
        known: what nodes were called before; as the draft says where None.
    """
    found = nets(drawing, known or known_of(draft))
    kinds = {name: one.kind for name, one in draft.parts.items()}
    held = clipped(draft)
    return Drawn(drawing, found, joined(drawing, found, held), kinds, held)


def clipped(draft: Sheet) -> frozenset[Node]:
    """Nodes that readings name."""
    found = {ref.name for one in draft.readings for ref in one.references() if ref.noun == "node"}
    return frozenset(found)


def referred(draft: Sheet) -> frozenset[str]:
    """Parts that readings name."""
    nouns = ("part", "part end")
    named = (ref for one in draft.readings for ref in one.references() if ref.noun in nouns)
    return frozenset(
        ref.name.rpartition(".")[0] if ref.noun == "part end" else ref.name for ref in named
    )


def is_bare(draft: Sheet, name: str, raw: Mapping[str, Any], used: frozenset[str]) -> bool:
    """Whether nothing is known of a part but what it is."""
    said = {key: one for key, one in raw.items() if key != "between"}
    part = draft.parts.get(name)
    return name not in used and part is not None and said == raw_part(part)


def _probed(draft: Sheet) -> dict[Node, int]:
    """How many readings that count each node was read in."""
    found: dict[Node, int] = {}
    for one in draft.readings:
        for node in read_nodes(one) if one.struck is None else ():
            found[node] = found.get(node, 0) + 1
    return found


def read_nodes(reading: ReadingBase) -> tuple[Node, ...]:
    """The nodes at which a reading has amplitudes or phases, in a table's headings too."""
    refs = (one for one in reading.references() if one.noun == "node")
    found = [one.name for one in refs if one.key[0] in ("amplitudes", "phases")]
    for name in type(reading).model_fields:
        value = getattr(reading, name)
        if isinstance(value, Table):
            found += [one.name for one in value.columns if one.name != "frequency"]
    return tuple(dict.fromkeys(found))
