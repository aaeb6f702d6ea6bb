"""A plan of rows as positions: the signal flows from left to right, what shunts it hangs down."""

from __future__ import annotations

from dataclasses import dataclass, field

from ohmbook.circuit.network import Node
from ohmbook.figures import lying, upright
from ohmbook.figures.boxes import Spot
from ohmbook.figures.diagram import Circuit, Diagram, Flag
from ohmbook.figures.pen import Pen, name_size, tag_size
from ohmbook.figures.row_plan import Hanging, Link, Row, RowPlan
from ohmbook.figures.series_parallel import Parallel, Tree

_ROW_GAP, _RISER, _NAME_PAD, _DROP = 0.45, 0.3, 0.22, 0.2
_POLE, _TAG_GAP, _INLET = 0.45, 0.1, 0.3
_POST_FIRST, _POST_STEP = 0.85, 0.55


@dataclass(slots=True)
class _Run:
    """Where things stand along the stretch of wire that is one node."""

    node: Node
    start: float
    end: float = 0.0
    drop: float | None = None
    poles: list[tuple[Flag, float]] = field(default_factory=list)
    hangings: list[tuple[Hanging, float]] = field(default_factory=list)
    riser_in: float = 0.0
    riser_out: float = 0.0


@dataclass(slots=True)
class _Strip:
    """One row, measured: its runs, the groups between them, its room above and below."""

    runs: list[_Run]
    groups: list[Tree]
    spans: list[Link]
    above: float = 0.0
    below: float = 0.0


class _RowPlacer:
    def __init__(self, circuit: Circuit, plan: RowPlan) -> None:
        self._circuit, self._plan = circuit, plan
        self._pen = Pen(circuit)
        self._floor = 0.0
        self._drops: dict[Node, Spot] = {}

    def diagram(self) -> Diagram:
        self._place(0, 0.0)
        self._posts()
        self._islands()
        return self._pen.diagram("rows")

    def _place(self, index: int, x: float) -> None:
        row = self._plan.rows[index]
        strip = self._measured(index, row, x)
        y = self._floor - strip.above - (_ROW_GAP if index else 0.0)
        self._floor = y - strip.below
        if row.parent is not None:
            self._pen.wire(row.nodes[0], self._drops[row.nodes[0]], (x, y))
        self._draw(strip, y)
        for node in row.nodes[::-1]:
            children = [
                k
                for k, one in enumerate(self._plan.rows)
                if one.parent == index and one.nodes[0] == node
            ]
            for child in children:
                self._place(child, self._drops[node][0])

    def _measured(self, index: int, row: Row, x: float) -> _Strip:
        links = [one for one in self._plan.links if one.row == index]
        spans = [one for one in links if one.last > one.first + 1]
        strip = _Strip([], [], spans)
        for place, node in enumerate(row.nodes):
            foreign = place == 0 and row.parent is not None
            run = _Run(node, x)
            self._fill(run, strip, place, foreign)
            strip.runs.append(run)
            x = run.end
            if place + 1 < len(row.nodes):
                beside = [one.tree for one in links if (one.first, one.last) == (place, place + 1)]
                group = beside[0] if len(beside) == 1 else Parallel(_flat(beside))
                strip.groups.append(group)
                room = lying.extent(self._pen, group)
                x += room.length
                strip.above, strip.below = (
                    max(strip.above, room.above),
                    max(strip.below, room.below),
                )
        strip.spans.sort(key=lambda one: one.last - one.first)
        self._leave_room_for_spans(strip)
        return strip

    def _fill(self, run: _Run, strip: _Strip, place: int, foreign: bool) -> None:
        """Lay out one run from left to right, and note the room that it needs."""
        x = run.start
        if foreign and any(one.first == place for one in strip.spans):
            x += _RISER
        if not foreign:
            width, height = name_size(run.node)
            strip.above = max(strip.above, height + 0.1)
            run.drop = x + _DROP
            x += width + _NAME_PAD
        ends = [one for one in strip.spans if one.last == place]
        if ends:
            lengths = [lying.extent(self._pen, one.tree).length for one in ends]
            x = max(
                x,
                *(
                    strip.runs[one.first].riser_out + length
                    for one, length in zip(ends, lengths, strict=True)
                ),
            )
            run.riser_in = x + _RISER / 2.0
            x += _RISER
        if not foreign:
            x = self._fill_poles(run, strip, x)
            x = self._fill_hangings(run, strip, x)
        if any(one.first == place for one in strip.spans):
            run.riser_out = x + _RISER / 2.0
            x += _RISER
        run.end = x

    def _fill_poles(self, run: _Run, strip: _Strip, x: float) -> float:
        flags = self._pen.flags(run.node)
        if run.node == self._circuit.start:
            flags = flags[1:]
        sizes = [tag_size(flag) for flag in flags]
        height = _POLE
        for flag, size in zip(flags, sizes, strict=True):
            run.poles.append((flag, height))
            height += size[1] + _TAG_GAP
        if not flags:
            return x
        strip.above = max(strip.above, height)
        return x + max(size[0] for size in sizes) + 0.3

    def _fill_hangings(self, run: _Run, strip: _Strip, x: float) -> float:
        for hanging in self._plan.hangings:
            if hanging.node != run.node:
                continue
            room = upright.extent(self._pen, hanging.tree)
            left = max(room.left, self._loose_room(hanging))
            run.hangings.append((hanging, x + left))
            x += left + room.right
            strip.below = max(strip.below, room.height + 0.25 + self._loose_depth(hanging))
        return x

    def _loose_room(self, hanging: Hanging) -> float:
        return upright.beside(self._pen, hanging.foot) if hanging.loose else 0.0

    def _loose_depth(self, hanging: Hanging) -> float:
        return 0.5 * (1 + len(self._pen.flags(hanging.foot))) if hanging.loose else 0.0

    def _leave_room_for_spans(self, strip: _Strip) -> None:
        for one in strip.spans:
            room = lying.extent(self._pen, one.tree)
            strip.above += room.below + room.above

    def _draw(self, strip: _Strip, y: float) -> None:
        for run in strip.runs:
            self._draw_run(run, y)
        pairs = zip(strip.runs[:-1], strip.runs[1:], strip.groups, strict=True)
        for before, after, group in pairs:
            left, right = (before.node, (before.end, y)), (after.node, (after.start, y))
            lying.place(self._pen, group, left, right)
        level = y + strip.above
        for one in strip.spans[::-1]:
            room = lying.extent(self._pen, one.tree)
            level -= room.above
            first, last = strip.runs[one.first], strip.runs[one.last]
            left, right = (first.riser_out, level), (last.riser_in, level)
            self._pen.wire(first.node, (first.riser_out, y), left)
            self._pen.wire(last.node, (last.riser_in, y), right)
            lying.place(self._pen, one.tree, (first.node, left), (last.node, right))
            level -= room.below

    def _draw_run(self, run: _Run, y: float) -> None:
        last = max([run.start, *(x for _, x in run.hangings), run.riser_in, run.riser_out])
        pen = self._pen
        if run.drop is not None:
            pen.node_name(run.node, (run.start + 0.06, y + 0.06), "left")
            self._drops.setdefault(run.node, (run.drop, y))
        x_pole = run.start + name_size(run.node)[0] + _NAME_PAD + 0.1
        if run.riser_in:
            x_pole = run.riser_in + _RISER / 2.0 + 0.1
        for flag, height in run.poles:
            pen.wire(run.node, (x_pole, y), (x_pole, y + height + tag_size(flag)[1] / 2.0))
            pen.tag(flag, (x_pole, y + height), "left")
            last = max(last, x_pole)
        for hanging, x in run.hangings:
            self._hang(hanging, (x, y))
        is_end = not any(run.node in row.nodes[:-1] for row in self._plan.rows)
        pen.wire(run.node, (run.start, y), (last if is_end else run.end, y))

    def _hang(self, hanging: Hanging, top: Spot) -> None:
        height = upright.extent(self._pen, hanging.tree).height
        foot = (top[0], top[1] - height)
        upright.place(self._pen, hanging.tree, (hanging.node, top), (hanging.foot, foot))
        if hanging.loose:
            self._pen.loose(foot)
            upright.mark_node(self._pen, hanging.foot, foot)
        else:
            self._pen.bar(hanging.foot, foot)

    def _posts(self) -> None:
        """The inlet at the far left, and what is clipped to the ground nodes below it."""
        pen, y = self._pen, self._drops[self._circuit.start][1]
        for flag in pen.flags(self._circuit.start)[:1]:
            pen.wire(flag.node, (-_INLET, y), (0.0, y))
            pen.tag(flag, (-_INLET, y - tag_size(flag)[1] / 2.0), "right")
        level = y - _POST_FIRST
        for ground in self._circuit.grounds:
            top, flags = level, pen.flags(ground)
            for flag in flags:
                pen.wire(ground, (-2.0 * _INLET, level), (-_INLET, level))
                pen.tag(flag, (-2.0 * _INLET, level - tag_size(flag)[1] / 2.0), "right")
                level -= _POST_STEP
            if flags:
                pen.wire(ground, (-_INLET, top), (-_INLET, level))
                pen.bar(ground, (-_INLET, level))
                pen.node_name(ground, (-_INLET - 0.4, level - 0.05), "right")
                level -= _POST_FIRST
        self._floor = min(self._floor, level)

    def _islands(self) -> None:
        """What only ground joins to the rest: side by side at the bottom."""
        pen, x, y = self._pen, 0.0, self._floor - 2.0 * _ROW_GAP
        for island in self._plan.islands:
            room = upright.extent(pen, island.tree)
            grounded = island.node in self._circuit.grounds
            flags_in = 0.0 if grounded else upright.beside(pen, island.node)
            x += max(room.left, flags_in)
            top = (x, y + _ROW_GAP / 2.0)
            pen.wire(island.node, top, (x, y - 0.1))
            if grounded:
                pen.node_name(island.node, (x + 0.12, y), "left")
                pen.cap(island.node, top)
            else:
                upright.mark_node(pen, island.node, top)
            self._hang(island, (x, y - 0.1))
            x += max(room.right, name_size(island.node)[0] + 0.2)


def _flat(trees: list[Tree]) -> tuple[Tree, ...]:
    return tuple(
        child
        for tree in trees
        for child in (tree.children if isinstance(tree, Parallel) else (tree,))
    )


def place_rows(circuit: Circuit, plan: RowPlan) -> Diagram:
    """Positions for a plan of rows.

    Args:
        circuit: what is laid out.
        plan: its rows.
    """
    return _RowPlacer(circuit, plan).diagram()
