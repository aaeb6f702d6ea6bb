"""What is doubtful in a drawing, each with the points where it lies."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

from ohmbook.circuit.network import Node
from ohmbook.documents.drawing import Drawing, Spot
from ohmbook.documents.part import PartKind
from ohmbook.drawing.arms import odd_capacitors
from ohmbook.drawing.joined import Joined, marks_of
from ohmbook.drawing.nets import Net

RemarkKind = Literal[
    "floating end",
    "unjoined part",
    "loose wire",
    "two names",
    "shorted part",
    "same place",
    "island",
    "no ground",
    "no input",
    "no output",
    "second input",
    "shorted input",
    "series capacitor",
    "differs",
]


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to look at.

    Args:
        kind: what it is.
        message: the same in words, with what to do.
        at: where to point; empty where it concerns the whole.
        parts: the parts concerned.
    """

    kind: RemarkKind
    message: str
    at: tuple[Spot, ...] = ()
    parts: tuple[str, ...] = ()

    def document(self) -> dict[str, Any]:
        """The remark as a JSON object."""
        return {
            "kind": self.kind,
            "message": self.message,
            "at": [list(one) for one in self.at],
            "parts": list(self.parts),
        }


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawing with what it joins.

    Args:
        drawing: what is drawn.
        nets: its nodes.
        joined: the circuit it makes.
        kinds: what each part is.
        clipped: nodes where a reading clips something.
    """

    drawing: Drawing
    nets: tuple[Net, ...]
    joined: Joined
    kinds: Mapping[str, PartKind]
    clipped: Collection[Node] = ()


def remarks(drawn: Drawn) -> tuple[Remark, ...]:
    """Everything doubtful, the gravest first."""
    if not drawn.drawing.parts:
        return tuple(_loose_wires(drawn))
    return (
        *_shorted(drawn),
        *_two_names(drawn),
        *_unjoined(drawn),
        *_loose_wires(drawn),
        *_same_place(drawn),
        *_missing(drawn),
        *_inputs(drawn),
        *_islands(drawn),
        *_odd_capacitors(drawn),
    )


def _middle(drawing: Drawing, part: str) -> Spot:
    (x0, y0), (x1, y1) = drawing.ends(part)
    return (x0 + x1) // 2, (y0 + y1) // 2


def _shorted(drawn: Drawn) -> Iterator[Remark]:
    for one in drawn.nets:
        both = [part for part, count in Counter(part for part, _ in one.ends).items() if count > 1]
        for part in both:
            yield Remark(
                "shorted part",
                f"{part} is shorted: both of its ends are on node {one.name}. Take away the wire "
                "that joins them, or the part.",
                (_middle(drawn.drawing, part),),
                (part,),
            )


def _two_names(drawn: Drawn) -> Iterator[Remark]:
    for one in drawn.nets:
        if len(one.written) > 1:
            places = [at.at for at in drawn.drawing.names if at.name in one.written]
            yield Remark(
                "two names",
                f"One node has two names, {' and '.join(one.written)}. Keep one of them; or a "
                "wire or a joint is one too many.",
                tuple(places),
            )


def _alone(drawn: Drawn) -> dict[str, list[tuple[int, Net]]]:
    """Ends of parts that nothing else is on, by part."""
    marked = {one.at for one in drawn.drawing.marks}
    marked |= {one.against for one in drawn.drawing.marks if one.against}
    found: dict[str, list[tuple[int, Net]]] = {}
    for net in drawn.nets:
        if len(net.ends) == 1 and not marked.intersection(net.spots):
            part, end = net.ends[0]
            if net.name not in drawn.clipped:
                found.setdefault(part, []).append((end, net))
    return found


def _unjoined(drawn: Drawn) -> Iterator[Remark]:
    for part, held in _alone(drawn).items():
        if len(held) == 2:
            yield Remark(
                "unjoined part",
                f"{part} is joined to nothing yet. Wire both of its ends.",
                (_middle(drawn.drawing, part),),
                (part,),
            )
            continue
        end, net = held[0]
        if len(net.wires) == 0:
            yield Remark(
                "floating end",
                f"An end of {part} is joined to nothing. It does not count until it is wired.",
                (drawn.drawing.ends(part)[end],),
                (part,),
            )


def _loose_wires(drawn: Drawn) -> Iterator[Remark]:
    """Ends of wires at which nothing else lies."""
    drawing = drawn.drawing
    on = Counter(drawing.ends(part)[k] for net in drawn.nets for part, k in net.ends)
    on.update(drawing.junctions)
    on.update(one.at for one in drawing.names)
    on.update(spot for one in drawing.marks for spot in (one.at, one.against) if spot)
    for net in drawn.nets:
        paths = [drawing.paths[k] for k in net.wires]
        for path in paths:
            for end in {path[0], path[-1]}:
                touching = sum(_touches(other, end) for other in paths if other is not path)
                if not touching and not on[end] and not _touches(path, end, inside=True):
                    yield Remark(
                        "loose wire", f"{_whose(net)} ends here, joined to nothing.", (end,)
                    )


def _whose(net: Net) -> str:
    parts = list(dict.fromkeys(part for part, _ in net.ends))
    return f"The wire of {parts[0]}" if len(parts) == 1 else "A wire"


def _touches(path: tuple[Spot, ...], spot: Spot, *, inside: bool = False) -> bool:
    """Whether a wire passes a spot; `inside`: other than by its first or last piece's own end."""
    pieces = list(pairwise(path))
    if inside:
        pieces = [one for one in pieces if spot not in one]
    return any(
        min(a[0], b[0]) <= spot[0] <= max(a[0], b[0])
        and min(a[1], b[1]) <= spot[1] <= max(a[1], b[1])
        for a, b in pieces
    )


def _same_place(drawn: Drawn) -> Iterator[Remark]:
    lying: dict[frozenset[Spot], list[str]] = {}
    for part in drawn.drawing.parts:
        lying.setdefault(frozenset(drawn.drawing.ends(part)), []).append(part)
    for parts in lying.values():
        if len(parts) > 1:
            yield Remark(
                "same place",
                f"{' and '.join(parts)} lie on top of each other, in parallel. Move one of them.",
                (_middle(drawn.drawing, parts[0]),),
                tuple(parts),
            )


def _missing(drawn: Drawn) -> Iterator[Remark]:
    drawing = drawn.drawing
    if drawn.joined.ground is None:
        yield Remark(
            "no ground", "No point is marked as ground yet, so nothing counts yet. Mark one."
        )
    if not marks_of(drawing, "input"):
        yield Remark(
            "no input",
            "The input is not marked yet: mark the point where the amplifier's + goes.",
        )
    drivers = [name for name in drawing.parts if drawn.kinds.get(name) == "driver"]
    if not drivers and not marks_of(drawing, "output"):
        yield Remark(
            "no output",
            "There is no driver and no output yet: place a driver, or mark a point as an output.",
        )


def _inputs(drawn: Drawn) -> Iterator[Remark]:
    found = marks_of(drawn.drawing, "input")
    if len(found) > 1:
        yield Remark(
            "second input",
            "There is more than one input; the first one counts. For a board with two pairs of "
            "terminals, wire the links between them, or keep one input.",
            tuple(one.at for one in found[1:]),
        )
    if found and drawn.joined.input is None and drawn.joined.between:
        yield Remark(
            "shorted input",
            "The input does not count yet: no part that counts is on it, or it is on ground.",
            (found[0].at,),
        )


def _islands(drawn: Drawn) -> Iterator[Remark]:
    """Parts that are joined to each other, and to neither ground nor input."""
    if drawn.joined.ground is None or not drawn.joined.between:
        return
    alone = _alone(drawn)
    left = [
        name for name in drawn.joined.left_out if name not in alone and not _is_short(drawn, name)
    ]
    if left:
        many = len(left) > 1
        yield Remark(
            "island",
            f"{', '.join(left)} {'do' if many else 'does'} not count yet: nothing leads from "
            f"{'them' if many else 'it'} to ground or input at both ends.",
            tuple(_middle(drawn.drawing, name) for name in left),
            tuple(left),
        )


def _is_short(drawn: Drawn, part: str) -> bool:
    return any(sum(name == part for name, _ in net.ends) > 1 for net in drawn.nets)


def _odd_capacitors(drawn: Drawn) -> Iterator[Remark]:
    for capacitor, driver in odd_capacitors(drawn.joined, drawn.kinds):
        yield Remark(
            "series capacitor",
            f"{capacitor} lies in series with {driver}, in an arm that passes low tones. Some "
            "boards are so; look once more whether this one is, before anything is changed.",
            (_middle(drawn.drawing, capacitor),),
            (capacitor, driver),
        )


def differences(drawn: Drawn, sketch: Joined) -> Sequence[Remark]:
    """Where the circuit that is worked with is another than the one drawn.

    Args:
        drawn: what is drawn.
        sketch: what the sheet says.
    """
    there, here = sketch.between, drawn.joined.between
    names = [
        name
        for name in dict.fromkeys([*there, *here])
        if _as_set(there.get(name), drawn.kinds.get(name))
        != _as_set(here.get(name), drawn.kinds.get(name))
    ]
    if not names:
        return ()
    told = "; ".join(
        f"{name} {_said(there.get(name))} in the sheet, {_said(here.get(name))} in the drawing"
        for name in names[:3]
    )
    more = f", and {len(names) - 3} more" if len(names) > 3 else ""
    at = tuple(_middle(drawn.drawing, name) for name in names if name in drawn.drawing.parts)
    message = f"The circuit that is worked with is not the one drawn: {told}{more}."
    return (Remark("differs", message, at, tuple(names)),)


def _as_set(pair: tuple[Node, Node] | None, kind: str | None) -> object:
    return pair if pair is None or kind == "driver" else frozenset(pair)


def _said(pair: tuple[Node, Node] | None) -> str:
    return "nowhere" if pair is None else f"between {pair[0]} and {pair[1]}"


__all__ = ["Drawn", "Remark", "RemarkKind", "differences", "remarks"]
