"""One row measured: where each node's stretch of wire begins and ends, and what stands on it."""

from __future__ import annotations

from dataclasses import dataclass, field

from ohmbook.circuit.network import Node
from ohmbook.drawing.circuit import Flag
from ohmbook.drawing.row_plan import Hanging, Link, RowPlan
from ohmbook.drawing.series_parallel import Parallel, Tree
from ohmbook.figures import lying, upright
from ohmbook.figures.pen import Pen, name_size, tag_size

_RISER, _NAME_PAD, _DROP = 0.3, 0.22, 0.2
_POLE, _TAG_GAP = 0.45, 0.1


@dataclass(slots=True)
class Run:
    """Where things stand along the stretch of wire that is one node.

    Args:
        node: which node.
        start, end: the stretch.
        drop: where rows below branch off; None where the node belongs to another row.
        pole: where flags stand.
        flags: each with its height above the wire.
        hangings: each with where it hangs.
        riser_in, riser_out: where what spans several nodes ends and begins; None where none does.
    """

    node: Node
    start: float
    end: float = 0.0
    drop: float | None = None
    pole: float = 0.0
    flags: list[tuple[Flag, float]] = field(default_factory=list)
    hangings: list[tuple[Hanging, float]] = field(default_factory=list)
    riser_in: float | None = None
    riser_out: float | None = None

    @property
    def last(self) -> float:
        """Where the last thing stands."""
        hung = [x for _, x in self.hangings]
        poles = [self.pole] if self.flags else []
        risers = [x for x in (self.riser_in, self.riser_out) if x is not None]
        return max([self.start, *hung, *poles, *risers])


@dataclass(slots=True)
class Strip:
    """One row, measured.

    Args:
        runs: one for each node, from left to right.
        groups: what lies between neighbours.
        spans: what runs above from one node to a farther one, the shortest first.
        above, below: the room that it needs from its line.
    """

    runs: list[Run] = field(default_factory=list)
    groups: list[Tree] = field(default_factory=list)
    spans: list[Link] = field(default_factory=list)
    above: float = 0.0
    below: float = 0.0


def measured(pen: Pen, plan: RowPlan, index: int, x: float, inlet: Node) -> Strip:
    """Measure a row.

    Args:
        pen: knows the flags.
        plan: the rows.
        index: which row.
        x: where it begins.
        inlet: the node whose first flag stands at the far left instead of above.
    """
    row, links = plan.rows[index], [one for one in plan.links if one.row == index]
    spans = [one for one in links if one.last > one.first + 1]
    strip = Strip(spans=sorted(spans, key=lambda one: one.last - one.first))
    for place, node in enumerate(row.nodes):
        run = Run(node, x)
        foreign = place == 0 and row.parent is not None
        skipped = 1 if node == inlet else 0
        _fill(pen, plan, strip, run, None if foreign else skipped)
        strip.runs.append(run)
        x = run.end
        if place + 1 < len(row.nodes):
            beside = [one.tree for one in links if (one.first, one.last) == (place, place + 1)]
            strip.groups.append(_beside(beside))
            room = lying.extent(pen, strip.groups[-1])
            x += room.length
            strip.above = max(strip.above, room.above)
            strip.below = max(strip.below, room.below)
    for one in strip.spans:
        room = lying.extent(pen, one.tree)
        strip.above += room.below + room.above
    return strip


def _fill(pen: Pen, plan: RowPlan, strip: Strip, run: Run, skipped: int | None) -> None:
    """Lay out one run from left to right; `skipped` flags stand elsewhere, None: all does."""
    place, x = len(strip.runs), run.start
    leaving = any(one.first == place for one in strip.spans)
    if skipped is None:
        x += _RISER if leaving else 0.0
    else:
        width, height = name_size(run.node)
        strip.above = max(strip.above, height + 0.1)
        run.drop = x + _DROP
        x += width + _NAME_PAD
    x = _fill_riser_in(pen, strip, run, x)
    if skipped is not None:
        x = _fill_flags(strip, run, pen.flags(run.node)[skipped:], x)
        x = _fill_hangings(pen, plan, strip, run, x)
    if leaving:
        run.riser_out = x + _RISER / 2.0
        x += _RISER
    run.end = x


def _fill_riser_in(pen: Pen, strip: Strip, run: Run, x: float) -> float:
    """Where spans end: far enough from where they begin for what lies in them."""
    ends = [one for one in strip.spans if one.last == len(strip.runs)]
    for one in ends:
        begin = strip.runs[one.first].riser_out
        assert begin is not None
        x = max(x, begin + lying.extent(pen, one.tree).length)
    if not ends:
        return x
    run.riser_in = x + _RISER / 2.0
    return x + _RISER


def _fill_flags(strip: Strip, run: Run, flags: tuple[Flag, ...], x: float) -> float:
    height = _POLE
    for flag in flags:
        run.flags.append((flag, height))
        height += tag_size(flag)[1] + _TAG_GAP
    if not flags:
        return x
    run.pole = x + 0.1
    strip.above = max(strip.above, height)
    return x + max(tag_size(flag)[0] for flag in flags) + 0.3


def _fill_hangings(pen: Pen, plan: RowPlan, strip: Strip, run: Run, x: float) -> float:
    for hanging in plan.hangings:
        if hanging.node != run.node:
            continue
        room = upright.extent(pen, hanging.tree)
        left, depth = room.left, room.height + 0.25
        if hanging.loose:
            left = max(left, upright.beside(pen, hanging.foot))
            depth += 0.5 * (1 + len(pen.flags(hanging.foot)))
        run.hangings.append((hanging, x + left))
        x += left + room.right
        strip.below = max(strip.below, depth)
    return x


def _beside(trees: list[Tree]) -> Tree:
    if len(trees) == 1:
        return trees[0]
    flat = [one.children if isinstance(one, Parallel) else (one,) for one in trees]
    return Parallel(tuple(child for children in flat for child in children))
