"""The schematic of a crossover, from its sketch or its network, with the settled values."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ohmbook.circuit.network import Element, Network, Node
from ohmbook.crossover.wiring import crossover_network, output_names
from ohmbook.documents.part import Part, Sketch
from ohmbook.drawing.circuit import Circuit, Flag, Item, SymbolKind
from ohmbook.figures.diagram import Diagram
from ohmbook.figures.drawing import diagram_figure
from ohmbook.figures.layout import lay_out
from ohmbook.figures.style import SOFT, heading, line, styled

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_HEADER_IN, _LEAST_IN = 0.5, 5.5
_NAME_LETTERS = 16

FOOTER_IN = 0.22
"""Room for the small print under a diagram."""


def schematic_figure(
    network: Network,
    labels: Mapping[str, str],
    title: str,
    drivers: Sequence[str] = (),
    outputs: Mapping[str, Node] | None = None,
) -> Figure:
    """The schematic: one row for each output, what shunts it below, values beside the symbols.

    Args:
        network: driven at its input, as `ohmbook.crossover.crossover_network` makes it.
        labels: what stands under a part's name, such as "0.820 mH"; may be absent for a part.
        title: shown at the top.
        drivers: which branches are drawn as loudspeakers.
        outputs: names of outputs that are no drivers, and their nodes.

    Returns:
        A matplotlib figure; it needs no display.
    """
    with styled():
        diagram = schematic(network, labels, drivers, outputs)
        figure = diagram_figure(diagram, _HEADER_IN, FOOTER_IN, _LEAST_IN)
        heading(figure, title)
        footnote(figure, diagram)
        return figure


def sketch_figure(
    sketch: Sketch | None, parts: Mapping[str, Part], labels: Mapping[str, str], title: str
) -> Figure:
    """The schematic of a sheet's sketch.

    Args:
        sketch: where the input, the outputs and the ground are.
        parts: parts by name.
        labels: what stands under a part's name, such as "0.820 mH".
        title: shown at the top.

    Returns:
        A matplotlib figure; it needs no display.

    Raises:
        CircuitError: the sketch lacks something; the message says what.
    """
    network = crossover_network(sketch, parts)
    drivers = [name for name, part in parts.items() if part.kind == "driver"]
    named = zip(output_names(sketch, parts), network.probes, strict=True)
    outputs = {name: probe[0] for name, probe in named if name not in drivers}
    return schematic_figure(network, labels, title, drivers, outputs)


def schematic(
    network: Network,
    labels: Mapping[str, str],
    drivers: Sequence[str] = (),
    outputs: Mapping[str, Node] | None = None,
) -> Diagram:
    """The same as positions, without drawing.

    Args:
        network: driven at its input.
        labels: what stands under a part's name.
        drivers: which branches are drawn as loudspeakers.
        outputs: names of outputs that are no drivers, and their nodes.
    """
    ground = ground_of(network)
    plus, minus = network.drive.ends
    flags = [Flag(plus, "amplifier +", "source"), Flag(minus, "amplifier −", "source")]
    flags += [Flag(node, name, "output") for name, node in (outputs or {}).items()]
    targets = tuple(node for probe in network.probes for node in probe if node != ground)
    items = items_of(network, labels, drivers)
    start = plus if plus != ground else minus
    flags.sort(key=lambda one: one.node != start)
    return lay_out(Circuit(items, (ground,), start, targets, tuple(flags)))


def items_of(
    network: Network, labels: Mapping[str, str], drivers: Sequence[str] = ()
) -> tuple[Item, ...]:
    """The parts of a network as items to be laid out.

    Args:
        network: whose branches are taken.
        labels: what stands under a part's name.
        drivers: which branches are loudspeakers.
    """
    seen: dict[str, int] = {}
    items = []
    for branch in network.branches:
        # One owner may have several branches (a lead and its return): each is drawn.
        seen[branch.owner] = seen.get(branch.owner, 0) + 1
        repeat = f" ({seen[branch.owner]})" if seen[branch.owner] > 1 else ""
        said = branch.owner.rpartition(": ")[2]  # "reading 1: load" is a load in its picture
        name = tuple(textwrap.wrap(said, _NAME_LETTERS)) or (said,)
        lines = (*name, *labels.get(branch.owner, "").splitlines())
        kind = "driver" if branch.owner in drivers else _SYMBOLS[branch.element]
        items.append(Item(branch.owner + repeat, kind, branch.ends, lines, len(name)))
    return tuple(items)


def ground_of(network: Network) -> Node:
    """The node that is drawn as bars: the one that most voltages are taken against.

    Args:
        network: its source and its probes.
    """
    against = [network.drive.ends[1], *(probe[1] for probe in network.probes)]
    return max(
        dict.fromkeys(against),
        key=lambda node: (against.count(node), node == network.drive.ends[1]),
    )


def footnote(figure: Figure, diagram: Diagram) -> None:
    """What the bars and the + mean, in small print at the bottom left.

    Args:
        figure: with the diagram in it.
        diagram: what has been laid out.
    """
    shapes = ("each short bar is node", "each earth symbol is node")
    nodes = {bar.style: bar.node for bar in diagram.bars}
    words = [f"{shapes[style]} {node}" for style, node in sorted(nodes.items())]
    if any(symbol.item.kind == "driver" for symbol in diagram.symbols):
        words.append("+ is the first node of a driver")
    line(figure, 0.1 / figure.get_figheight(), "; ".join(words), size=7.5, color=SOFT)


# An impedance of any other kind is drawn as the box that a resistor has.
_SYMBOLS: dict[Element, SymbolKind] = {
    "resistor": "resistor",
    "inductor": "inductor",
    "capacitor": "capacitor",
    "semi-inductor": "inductor",
    "given": "resistor",
    "point": "resistor",
    "short": "short",
    "open": "open",
}
