"""What was connected during a reading: the parts, and every clip as a flag at its node."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ohmbook.circuit.network import Network, Node
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.drawing.circuit import Circuit, Flag
from ohmbook.figures.diagram import Diagram
from ohmbook.figures.drawing import diagram_figure
from ohmbook.figures.layout import lay_out
from ohmbook.figures.schematic import FOOTER_IN, footnote, items_of
from ohmbook.figures.style import (
    INK,
    WARNING_INK,
    WARNING_PAPER,
    heading,
    styled,
)
from ohmbook.figures.typeset import INCHES_PER_UNIT

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_TITLE_IN, _LEAST_IN = 0.5, 6.5
_TEXT_PT, _STEP_IN, _PAD_IN, _INDENT_IN = 8.5, 0.17, 0.1, 0.2
_LETTERS_PER_IN = 14.5


def setup_figure(
    setup: SetUp, labels: Mapping[str, str] | None = None, drivers: Sequence[str] = ()
) -> Figure:
    """A set-up: its cautions first, then the circuit with source, scope and meter at their nodes.

    Args:
        setup: what was connected.
        labels: what stands under a part's name; may be absent for a part.
        drivers: which branches are drawn as loudspeakers.

    Returns:
        A matplotlib figure; it needs no display.
    """
    with styled():
        diagram = setup_diagram(setup, labels or {}, drivers)
        room = _text_width_in(diagram)
        cautions = _wrapped(setup.cautions, room)
        notes = _wrapped(setup.notes, room)
        cautions_in = _block_in(cautions)
        header_in = _TITLE_IN + cautions_in + _block_in(notes)
        figure = diagram_figure(diagram, header_in, FOOTER_IN, _LEAST_IN)
        heading(figure, setup.title[:1].upper() + setup.title[1:])
        if cautions:
            _box(figure, _TITLE_IN, cautions_in)
            _print(figure, cautions, _TITLE_IN, WARNING_INK, "!")
        _print(figure, notes, _TITLE_IN + cautions_in, INK, "\N{BULLET}")
        footnote(figure, diagram)
        return figure


def setup_diagram(setup: SetUp, labels: Mapping[str, str], drivers: Sequence[str] = ()) -> Diagram:
    """The same as positions, without drawing.

    Args:
        setup: what was connected.
        labels: what stands under a part's name.
        drivers: which branches are drawn as loudspeakers.
    """
    network, grounds = _board(setup), grounds_of(setup)
    flags = [Flag(one.node, f"{one.name} {_lead(one)}", one.tool) for one in setup.clips]
    start = _start(setup, grounds)
    # The source's own clip first: it becomes the inlet at the left.
    flags.sort(key=lambda one: (one.node != start, one.tool != "source"))
    read = [probe[0] for probe in network.probes]
    loads = [node for one in network.branches if one.owner in drivers for node in one.ends]
    targets = tuple(dict.fromkeys([*read, *loads, *(one.node for one in setup.clips)]))
    items = items_of(network, labels, drivers)
    return lay_out(Circuit(items, grounds, start, targets, tuple(flags)))


def _board(setup: SetUp) -> Network:
    """The network without the instruments' own leads, which the flags stand for."""
    network = setup.network
    kept = tuple(one for one in network.branches if one.owner not in setup.leads)
    return replace(network, branches=kept)


def grounds_of(setup: SetUp) -> tuple[Node, ...]:
    """The nodes that are drawn as bars: the board's ground, then the instruments' own.

    The board's ground is the node that most parts and returns touch; where several are as busy, one
    that a return is clipped to. The instruments' own is what source and probes are against, where
    nothing is clipped to it.

    Args:
        setup: what was connected.
    """
    network = setup.network
    clipped = {one.node for one in setup.clips}
    returns = [one.node for one in setup.clips if one.lead in ("-", "ground")]
    against = dict.fromkeys([network.drive.ends[1], *(probe[1] for probe in network.probes)])
    earths = [node for node in against if node not in clipped]
    on_board = dict.fromkeys([*returns, *(n for one in network.branches for n in one.ends)])
    candidates = [node for node in on_board if node not in earths] or list(against)
    back = [one.node for one in setup.clips if one.tool != "meter" and one.node in returns]
    ground = max(
        candidates,
        key=lambda node: (_touching(network, node) + back.count(node), node in returns),
    )
    return (ground, *(node for node in earths if node != ground))


def _touching(network: Network, node: Node) -> int:
    return sum(node in branch.ends for branch in network.branches)


def _start(setup: SetUp, grounds: tuple[Node, ...]) -> Node:
    pluses = [one.node for one in setup.clips if one.tool != "scope" and one.lead == "+"]
    ends = [*pluses, *setup.network.drive.ends]
    return next((node for node in ends if node not in grounds), ends[0])


def _lead(clip: Clip) -> str:
    return clip.lead.replace("-", "\N{MINUS SIGN}")


def _text_width_in(diagram: Diagram) -> float:
    bounds = diagram.bounds
    return max(_LEAST_IN, (bounds.x1 - bounds.x0) * INCHES_PER_UNIT) - 2.5 * _INDENT_IN


def _wrapped(texts: tuple[str, ...], room_in: float) -> list[list[str]]:
    letters = max(20, int(room_in * _LETTERS_PER_IN))
    return [textwrap.wrap(text, letters) for text in texts if text.strip()]


def _block_in(paragraphs: list[list[str]]) -> float:
    lines = sum(len(one) for one in paragraphs)
    return lines * _STEP_IN + 2.0 * _PAD_IN if lines else 0.0


def _box(figure: Figure, top_in: float, height_in: float) -> None:
    from matplotlib.patches import Rectangle

    width, height = figure.get_size_inches().tolist()
    inset = _INDENT_IN / 2.0
    figure.add_artist(
        Rectangle(
            (inset / width, 1.0 - (top_in + height_in - 0.02) / height),
            1.0 - 2.0 * inset / width,
            (height_in - 0.04) / height,
            facecolor=WARNING_PAPER,
            edgecolor=WARNING_INK,
            linewidth=0.8,
            transform=figure.transFigure,
        )
    )


def _print(
    figure: Figure, paragraphs: list[list[str]], top_in: float, colour: str, mark: str
) -> None:
    width, height = figure.get_size_inches().tolist()
    y_in = top_in + _PAD_IN
    for lines in paragraphs:
        for k, line in enumerate(lines):
            y = 1.0 - (y_in + _STEP_IN / 2.0) / height
            if k == 0:
                figure.text(
                    _INDENT_IN / width,
                    y,
                    mark,
                    size=_TEXT_PT,
                    color=colour,
                    weight="bold",
                    va="center_baseline",
                )
            figure.text(
                1.8 * _INDENT_IN / width,
                y,
                line,
                size=_TEXT_PT,
                color=colour,
                va="center_baseline",
            )
            y_in += _STEP_IN
