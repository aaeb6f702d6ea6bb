"""What is to be laid out: parts between nodes, and what is attached to them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ohmbook.circuit.network import Node, Pair

SymbolKind = Literal["resistor", "inductor", "capacitor", "driver", "short", "open"]
Tool = Literal["source", "scope", "meter", "output"]


@dataclass(frozen=True, slots=True)
class Item:
    """A part to be placed.

    Args:
        name: unique.
        kind: which symbol.
        ends: its two nodes; a driver's + is the first.
        lines: its label, one entry a line.
        name_lines: how many of them are its name.
    """

    name: str
    kind: SymbolKind
    ends: Pair
    lines: tuple[str, ...] = ()
    name_lines: int = 1


@dataclass(frozen=True, slots=True)
class Flag:
    """Something attached to a node, told in words: an input, an output, a clip."""

    node: Node
    text: str
    tool: Tool


@dataclass(frozen=True, slots=True)
class Circuit:
    """What is to be laid out.

    Args:
        items: the parts.
        grounds: nodes that end in a mark wherever they are met, instead of being wired together;
            the first is the board's, a second one the instruments' earth.
        start: where the signal comes in; the first row begins there.
        targets: nodes that should lie at the end of a row, the topmost first.
        flags: what is attached where.
    """

    items: tuple[Item, ...]
    grounds: tuple[Node, ...]
    start: Node
    targets: tuple[Node, ...] = ()
    flags: tuple[Flag, ...] = ()
