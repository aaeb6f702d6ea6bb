"""A plan of rows on the grid: series parts along a row, shunt parts below, ground at the foot."""

from __future__ import annotations

from dataclasses import dataclass, field

from ohmbook.circuit.network import Node
from ohmbook.documents.drawing import Mark, Spot
from ohmbook.drawing.circuit import Circuit
from ohmbook.drawing.paper import Paper
from ohmbook.drawing.row_plan import Hanging, Link, RowPlan
from ohmbook.drawing.series_parallel import Parallel, Tree
from ohmbook.drawing.trees import hanging_room, lying_room, place_hanging, place_lying

STUB = 4
_GAP, _RISER, _HEAD, _UNDER = 2, 2, 3, 3


def place_in_rows(circuit: Circuit, plan: RowPlan) -> Paper:
    """Everything placed.

    Args:
        circuit: what is drawn.
        plan: its rows.
    """
    return _Rows(circuit, plan).placed()


@dataclass
class _Run:
    """One node's stretch of a row: what hangs from it, what rises from it, what branches off."""

    node: Node
    start: int
    end: int = 0
    columns: list[tuple[Hanging, int]] = field(default_factory=list)
    rises: dict[int, int] = field(default_factory=dict)
    drop: int = 0


class _Rows:
    def __init__(self, circuit: Circuit, plan: RowPlan) -> None:
        self._circuit, self._plan = circuit, plan
        self._paper = Paper()
        self._floor = 0

    def placed(self) -> Paper:
        """Every row, then what only ground joins to the rest."""
        self._row(0, (0, 0))
        self._islands()
        return self._paper

    def _row(self, index: int, begin: Spot) -> None:
        """A row, and below it those that branch off, the ones farthest to the right first."""
        row = self._plan.rows[index]
        groups, spans = self._links(index)
        runs = self._runs(index, begin[0], groups, spans)
        low = max([_HEAD, *(lying_room(one).before for one in groups if one)])
        levels = self._levels(spans, low)
        top = [one + lying_room(span.tree).before for span, one in zip(spans, levels, strict=True)]
        above = max([low, *top])
        y = self._floor + above + (_GAP if index else 0)
        if index:
            self._paper.wire(row.nodes[0], begin, (begin[0], y))
        self._draw(runs, groups, y)
        if not index:
            self._paper.wire(row.nodes[0], (-STUB, y), (0, y))
            self._paper.outlet(row.nodes[0], (-STUB, y))
        for k, (span, level) in enumerate(zip(spans, levels, strict=True)):
            self._span(k, span, runs, (y, y - level))
        self._floor = y + self._shunts(runs, y) + _UNDER
        for run in runs[::-1]:
            for k, child in enumerate(self._plan.rows):
                if child.parent == index and child.nodes[0] == run.node:
                    self._row(k, (run.drop, y))

    def _links(self, index: int) -> tuple[list[Tree | None], list[Link]]:
        """What joins each node to the next, and what spans several, the longest first."""
        own = [one for one in self._plan.links if one.row == index]
        nodes = self._plan.rows[index].nodes
        groups: list[Tree | None] = []
        for k in range(len(nodes) - 1):
            trees = tuple(one.tree for one in own if (one.first, one.last) == (k, k + 1))
            groups.append(None if not trees else trees[0] if len(trees) == 1 else Parallel(trees))
        spans = [one for one in own if one.last - one.first > 1]
        return groups, sorted(spans, key=lambda one: one.first - one.last)

    def _runs(self, index: int, x: int, groups: list[Tree | None], spans: list[Link]) -> list[_Run]:
        nodes, runs = self._plan.rows[index].nodes, list[_Run]()
        for k, node in enumerate(nodes):
            run = _Run(node, x, drop=x)
            hangings = self._hangings(index, node)
            branches = any(one.parent == index and one.nodes[0] == node for one in self._plan.rows)
            for j, span in enumerate(spans):
                if span.last == k:
                    run.rises[j] = x
                    x += _RISER
            if branches:
                run.drop = x
                x += _GAP if hangings else 0
            for hanging in hangings:
                room = hanging_room(hanging.tree)
                x += room.before if run.columns or run.start != x else 0
                run.columns.append((hanging, x))
                x += room.after
            for j, span in reversed(list(enumerate(spans))):
                if span.first == k:
                    x += _RISER
                    run.rises[j] = x
            run.end = max([run.start, run.drop, *run.rises.values(), *(c for _, c in run.columns)])
            runs.append(run)
            if k < len(groups):
                group = groups[k]
                x = max(x, run.end + (lying_room(group).along if group else _GAP))
        return runs

    def _hangings(self, index: int, node: Node) -> list[Hanging]:
        """What hangs from a node: below the first row that it is in."""
        rows = self._plan.rows
        home = next(k for k, one in enumerate(rows) if node in one.nodes)
        child = rows[index].parent is not None and rows[index].nodes[0] == node
        if home != index or child:
            return []
        return [one for one in self._plan.hangings if one.node == node]

    def _levels(self, spans: list[Link], low: int) -> list[int]:
        """How far above the row each span lies, the longest at the top."""
        levels: list[int] = []
        level = low
        for span in reversed(spans):
            room = lying_room(span.tree)
            level += room.after + 2
            levels.append(level)
            level += room.before
        return levels[::-1]

    def _draw(self, runs: list[_Run], groups: list[Tree | None], y: int) -> None:
        paper = self._paper
        for run in runs:
            paper.wire(run.node, (run.start, y), (run.end, y))
            paper.name(run.node, (run.start, y))
        for k, group in enumerate(groups):
            if group is not None:
                left, right = runs[k], runs[k + 1]
                place_lying(
                    paper, group, (left.node, (left.end, y)), (right.node, (right.start, y))
                )
        last = runs[-1]
        if any(flag.node == last.node and flag.tool == "output" for flag in self._circuit.flags):
            end = last.end + 2 * STUB
            paper.wire(last.node, (last.end, y), (end, y))
            paper.outlet(last.node, (end, y))

    def _span(self, k: int, span: Link, runs: list[_Run], heights: tuple[int, int]) -> None:
        y, level = heights
        first, last = runs[span.first], runs[span.last]
        near, far = (first.rises[k], level), (last.rises[k], level)
        self._paper.wire(first.node, (near[0], y), near)
        self._paper.wire(last.node, (far[0], y), far)
        place_lying(self._paper, span.tree, (first.node, near), (last.node, far))

    def _shunts(self, runs: list[_Run], y: int) -> int:
        """What hangs from the row, down to one line of ground; how deep that is."""
        columns = [(run.node, one, x) for run in runs for one, x in run.columns]
        if not columns:
            return 1
        deep = max(hanging_room(one.tree).along for _, one, _ in columns) + 1
        grounded: list[tuple[Node, int]] = []
        for node, hanging, x in columns:
            depth = hanging_room(hanging.tree).along if hanging.loose else deep
            place_hanging(self._paper, hanging.tree, (node, (x, y)), (hanging.foot, (x, y + depth)))
            if hanging.loose:
                self._paper.name(hanging.foot, (x, y + depth))
            else:
                grounded.append((hanging.foot, x))
        if grounded:
            self._ground(grounded[0][0], [x for _, x in grounded], y + deep)
        return deep + 1

    def _ground(self, node: Node, columns: list[int], y: int) -> None:
        paper, x = self._paper, columns[0]
        paper.wire(node, (x, y), (columns[-1], y))
        paper.mark(Mark(kind="ground", at=(x, y)))
        if node != "gnd":
            paper.name(node, (x, y))

    def _islands(self) -> None:
        x, y = 0, self._floor + _GAP
        for island in self._plan.islands:
            room = hanging_room(island.tree)
            x += room.before
            foot = y + room.along
            place_hanging(self._paper, island.tree, (island.node, (x, y)), (island.foot, (x, foot)))
            self._ground(island.foot, [x], foot)
            if island.node in self._circuit.grounds:
                self._paper.mark(Mark(kind="ground", at=(x, y)))
            else:
                self._paper.name(island.node, (x, y))
            x += room.after
