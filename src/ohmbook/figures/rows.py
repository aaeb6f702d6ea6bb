"""A plan of rows as positions: the signal flows from left to right, what shunts it hangs down."""

from __future__ import annotations

from ohmbook.circuit.network import Node
from ohmbook.drawing.circuit import Circuit
from ohmbook.drawing.row_plan import Hanging, RowPlan
from ohmbook.figures import lying, upright
from ohmbook.figures.boxes import Spot
from ohmbook.figures.diagram import BAR_HALF, Diagram
from ohmbook.figures.pen import Pen, name_size, tag_size
from ohmbook.figures.strip import Run, Strip, measured

_ROW_GAP, _INLET = 0.45, 0.3
_POST_FIRST, _POST_STEP = 0.85, 0.55


def place_rows(circuit: Circuit, plan: RowPlan) -> Diagram:
    """Positions for a plan of rows.

    Args:
        circuit: what is laid out.
        plan: its rows.
    """
    return _RowPlacer(circuit, plan).diagram()


class _RowPlacer:
    def __init__(self, circuit: Circuit, plan: RowPlan) -> None:
        self._circuit, self._plan = circuit, plan
        self._pen = Pen(circuit)
        self._floor = 0.0
        self._drops: dict[Node, Spot] = {}

    def diagram(self) -> Diagram:
        self._place(0, 0.0)
        self._inlet()
        self._islands()
        return self._pen.diagram("rows")

    def _place(self, index: int, x: float) -> None:
        """A row, and below it those that branch off, the ones farthest to the right first."""
        row = self._plan.rows[index]
        strip = measured(self._pen, self._plan, index, x, self._circuit.start)
        y = self._floor - strip.above - (_ROW_GAP if index else 0.0)
        self._floor = y - strip.below
        if row.parent is not None:
            self._pen.wire(row.nodes[0], self._drops[row.nodes[0]], (x, y))
        self._draw(strip, y)
        for node in row.nodes[::-1]:
            for k, child in enumerate(self._plan.rows):
                if child.parent == index and child.nodes[0] == node:
                    self._place(k, self._drops[node][0])

    def _draw(self, strip: Strip, y: float) -> None:
        for run in strip.runs:
            self._draw_run(run, y)
        pairs = zip(strip.runs[:-1], strip.runs[1:], strip.groups, strict=True)
        for before, after, group in pairs:
            left, right = (before.node, (before.end, y)), (after.node, (after.start, y))
            lying.place(self._pen, group, left, right)
        self._draw_spans(strip, y)

    def _draw_spans(self, strip: Strip, y: float) -> None:
        """What runs above from one node to a farther one, the longest at the top."""
        level = y + strip.above
        for one in strip.spans[::-1]:
            room = lying.extent(self._pen, one.tree)
            level -= room.above
            first, last = strip.runs[one.first], strip.runs[one.last]
            assert first.riser_out is not None
            assert last.riser_in is not None
            near, far = (first.riser_out, level), (last.riser_in, level)
            self._pen.wire(first.node, (first.riser_out, y), near)
            self._pen.wire(last.node, (last.riser_in, y), far)
            lying.place(self._pen, one.tree, (first.node, near), (last.node, far))
            level -= room.below

    def _draw_run(self, run: Run, y: float) -> None:
        pen = self._pen
        if run.drop is not None:
            pen.node_name(run.node, (run.start + 0.06, y + 0.06), "left")
            self._drops.setdefault(run.node, (run.drop, y))
        for flag, height in run.flags:
            pen.wire(run.node, (run.pole, y), (run.pole, y + height + tag_size(flag)[1] / 2.0))
            pen.tag(flag, (run.pole, y + height), "left")
        for hanging, x in run.hangings:
            self._hang(hanging, (x, y))
        is_end = not any(run.node in row.nodes[:-1] for row in self._plan.rows)
        pen.wire(run.node, (run.start, y), (run.last if is_end else run.end, y))

    def _hang(self, hanging: Hanging, top: Spot) -> None:
        height = upright.extent(self._pen, hanging.tree).height
        foot = (top[0], top[1] - height)
        upright.place(self._pen, hanging.tree, (hanging.node, top), (hanging.foot, foot))
        if hanging.loose:
            self._pen.loose(foot)
            upright.mark_node(self._pen, hanging.foot, foot)
        else:
            self._pen.bar(hanging.foot, foot)

    def _inlet(self) -> None:
        """The first flag of the start at the far left, and what is clipped to ground below it."""
        pen, y = self._pen, self._drops[self._circuit.start][1]
        for flag in pen.flags(self._circuit.start)[:1]:
            pen.wire(flag.node, (-_INLET, y), (0.0, y))
            pen.tag(flag, (-_INLET, y - tag_size(flag)[1] / 2.0), "right")
        level = y - _POST_FIRST
        for ground in self._circuit.grounds:
            if pen.flags(ground):
                level = self._post(ground, level) - _POST_FIRST

    def _post(self, ground: Node, top: float) -> float:
        """The flags of a ground node one under the other, a bar below; where that ends."""
        pen, level = self._pen, top
        for flag in pen.flags(ground):
            pen.wire(ground, (-2.0 * _INLET, level), (-_INLET, level))
            pen.tag(flag, (-2.0 * _INLET, level - tag_size(flag)[1] / 2.0), "right")
            level -= _POST_STEP
        pen.wire(ground, (-_INLET, top), (-_INLET, level))
        pen.bar(ground, (-_INLET, level))
        pen.node_name(ground, (-_INLET - 0.4, level - 0.05), "right")
        self._floor = min(self._floor, level)
        return level

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
                pen.node_name(island.node, (x + BAR_HALF + 0.1, top[1] - 0.12), "left")
                pen.cap(island.node, top)
            else:
                upright.mark_node(pen, island.node, top)
            self._hang(island, (x, y - 0.1))
            x += max(room.right, name_size(island.node)[0] + BAR_HALF + 0.3)
