"""Circuits to be laid out, of our own making and at random."""

from __future__ import annotations

from typing import get_args

from hypothesis import strategies as st

from ohmbook.drawing.circuit import Circuit, Flag, Item, SymbolKind, Tool
from ohmbook.figures.boxes import Spot
from ohmbook.figures.diagram import Diagram, Wire, on_piece

KINDS: tuple[SymbolKind, ...] = get_args(SymbolKind)
TOOLS: tuple[Tool, ...] = get_args(Tool)


def item(text: str) -> Item:
    """ "L1 in w" as an inductor between in and w; a name of several letters is a driver."""
    name, a, b = text.split()
    kinds: dict[str, SymbolKind] = {"L": "inductor", "C": "capacitor", "R": "resistor"}
    kind = kinds.get(name[0], "driver")
    return Item(name, kind, (a, b), (name, "12.34(56) mH"))


def circuit(*texts: str, targets: tuple[str, ...] = (), start: str = "in") -> Circuit:
    """A circuit of `item` texts, with a source at its start."""
    flags = (Flag(start, "amplifier +", "source"), Flag("gnd", "amplifier −", "source"))
    return Circuit(tuple(item(one) for one in texts), ("gnd",), start, targets, flags)


TWO_WAY = circuit(
    "L1 in m", "C1 m gnd", "L3 m w", "R1 w z", "C2 z gnd", "woofer w gnd",
    "C3 in a", "L2 a gnd", "C4 a b", "R2 b t", "R3 t gnd", "tweeter gnd t",
    targets=("w", "t"),
)  # fmt: skip
THREE_WAY = circuit(
    *(f"{one.name} {one.ends[0]} {one.ends[1]}" for one in TWO_WAY.items),
    "C5 in p", "L4 p gnd", "L5 p q", "C6 q gnd", "R4 q r", "R5 r gnd", "midrange r gnd",
    targets=("w", "r", "t"),
)  # fmt: skip
ONE_WAY = circuit("C1 in t", "L1 t gnd", "tweeter t gnd", targets=("t",))
BYPASSED = circuit(
    "L1 in w", "C9 in x", "R9 x w", "C1 w gnd", "woofer gnd w",
    "C2 in a", "L2 a gnd", "C3 a b", "R1 in b", "tweeter b gnd",
    "L8 b q", "C8 q gnd", "R8 gnd q",
    targets=("w", "b"),
)  # fmt: skip
IN_SERIES = circuit("L1 in m", "tweeter in m", "C1 m gnd", "woofer m gnd", targets=("m",))
LIFTED = circuit("L1 in w", "C1 w gnd", "R1 w free", "woofer w gnd", targets=("w",))
BRIDGED = circuit("R1 in a", "R2 in b", "L1 a b", "C1 a gnd", "R3 b gnd", targets=("a", "b"))
BRANCHED = circuit(
    "L1 in a", "C1 a gnd", "L2 a w", "woofer w gnd", "C2 a t", "tweeter t gnd", "C3 in s",
    "supertweeter s gnd", targets=("w", "t", "s"),
)  # fmt: skip

IN_ROWS = {
    "one-way": ONE_WAY,
    "two-way": TWO_WAY,
    "three-way": THREE_WAY,
    "bypassed": BYPASSED,
    "in series": IN_SERIES,
    "lifted": LIFTED,
    "bridged": BRIDGED,
    "branched": BRANCHED,
}


@st.composite
def any_circuit(draw: st.DrawFn) -> Circuit:
    """Anything: loops, islands, parts across nothing, flags anywhere."""
    nodes = ["in", "gnd", "a", "b", "a long name", "d", "earth"][: draw(st.integers(2, 7))]
    grounds = ("gnd", "earth") if "earth" in nodes and draw(st.booleans()) else ("gnd",)
    count = draw(st.integers(1, 9))
    items = []
    for k in range(count):
        kind = draw(st.sampled_from(KINDS))
        ends = draw(st.sampled_from(nodes)), draw(st.sampled_from(nodes))
        lines = (f"X{k}", *draw(st.sampled_from([(), ("8 Ω",), ("0.8200(31) mH", "at 2 kHz")])))
        items.append(Item(f"X{k}", kind, ends, lines))
    used = sorted({node for one in items for node in one.ends} | {"in"})
    flagged = draw(st.lists(st.sampled_from(used), max_size=5))
    flags = [
        Flag(node, f"clip {k}", draw(st.sampled_from(TOOLS))) for k, node in enumerate(flagged)
    ]
    targets = draw(st.lists(st.sampled_from(used), max_size=3, unique=True))
    return Circuit(tuple(items), grounds, "in", tuple(targets), tuple(flags))


def pieces(wires: tuple[Wire, ...], node: str) -> list[tuple[Spot, Spot]]:
    """The straight pieces of one node's wires."""
    return [
        (a, b)
        for wire in wires
        if wire.node == node
        for a, b in zip(wire.points[:-1], wire.points[1:], strict=True)
    ]


def islands(diagram: Diagram, node: str) -> list[list[tuple[Spot, Spot]]]:
    """The pieces of one node, grouped by what touches what."""
    groups: list[list[tuple[Spot, Spot]]] = []
    for piece in pieces(diagram.wires, node):
        joined = [g for g in groups if any(_meet(piece, other) for other in g)]
        groups = [g for g in groups if g not in joined]
        groups.append([piece, *(other for g in joined for other in g)])
    return groups


def _meet(a: tuple[Spot, Spot], b: tuple[Spot, Spot]) -> bool:
    return any(on_piece(spot, *b) for spot in a) or any(on_piece(spot, *a) for spot in b)
