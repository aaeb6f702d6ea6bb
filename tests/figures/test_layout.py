"""Layouts as data: everything placed once, nothing over anything, and wired as the circuit says."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from ohmbook.drawing.circuit import Circuit
from ohmbook.figures.boxes import Box
from ohmbook.figures.diagram import Bar, Diagram, Wire, junctions, on_piece
from ohmbook.figures.layout import clashes, lay_out
from ohmbook.figures.rails import place_on_rails

from .circuits import IN_ROWS, THREE_WAY, TWO_WAY, any_circuit, circuit, islands, pieces

SETTINGS = settings(max_examples=150, deadline=None)


def assert_whole(diagram: Diagram, what: Circuit) -> None:
    """Each part and flag once, and every node's wires joined, to one another or by bars."""
    assert sorted(one.item.name for one in diagram.symbols) == sorted(i.name for i in what.items)
    assert sorted(one.flag.text for one in diagram.tags) == sorted(f.text for f in what.flags)
    labels = [one.lines for one in diagram.captions if one.role == "part"]
    assert sorted(labels) == sorted(one.lines for one in what.items)
    for symbol in diagram.symbols:
        for spot, node in zip((symbol.start, symbol.end), symbol.item.ends, strict=True):
            assert any(on_piece(spot, a, b) for a, b in pieces(diagram.wires, node)), symbol
    for node in {wire.node for wire in diagram.wires}:
        groups = islands(diagram, node)
        bars = [bar for bar in diagram.bars if bar.node == node]
        if not bars:
            assert len(groups) == 1, f"{node} is in {len(groups)} pieces"
        for group in groups if bars else []:
            assert any(_at(bar, group) for bar in bars), f"a piece of {node} has no bar"
    for tag in diagram.tags:
        touched = [
            spot
            for a, b in pieces(diagram.wires, tag.flag.node)
            for spot in (a, b)
            if tag.box.grown(1e-6).holds(spot)
        ]
        assert touched, tag


def _at(bar: Bar, group: list[tuple[tuple[float, float], tuple[float, float]]]) -> bool:
    x, y = bar.spot
    return any(abs(x - spot[0]) < 1e-9 and abs(y - spot[1]) < 0.07 for p in group for spot in p)


@pytest.mark.parametrize("name", IN_ROWS)
def test_crossovers_come_out_in_rows(name: str) -> None:
    diagram = lay_out(IN_ROWS[name])
    assert diagram.manner == "rows"
    assert clashes(diagram) == []
    assert_whole(diagram, IN_ROWS[name])


@SETTINGS
@given(any_circuit())
def test_any_circuit_is_drawn_whole_and_clean(what: Circuit) -> None:
    diagram = lay_out(what)
    assert clashes(diagram) == []
    assert_whole(diagram, what)


@SETTINGS
@given(any_circuit())
def test_rails_hold_any_circuit(what: Circuit) -> None:
    diagram = place_on_rails(what)
    assert clashes(diagram) == []
    assert_whole(diagram, what)


@pytest.mark.parametrize("extra", ["C9 m m", "R9 p q"])
def test_what_rows_cannot_hold_goes_on_rails(extra: str) -> None:
    # A part with both ends on one node, and one that nothing joins to the rest.
    texts = [f"{one.name} {one.ends[0]} {one.ends[1]}" for one in TWO_WAY.items]
    odd = circuit(*texts, extra, targets=("w", "t"))
    diagram = lay_out(odd)
    assert diagram.manner == "rails"
    assert clashes(diagram) == []
    assert_whole(diagram, odd)


def test_outputs_are_rows_the_first_at_the_top() -> None:
    placed = {one.item.name: one for one in lay_out(THREE_WAY).symbols}
    heights = [placed[name].body.y1 for name in ("woofer", "midrange", "tweeter")]
    assert heights == sorted(heights, reverse=True)


def test_signal_flows_from_left_to_right_and_shunts_hang_below() -> None:
    diagram = lay_out(TWO_WAY)
    placed = {one.item.name: one for one in diagram.symbols}
    for names in (("L1", "L3", "woofer"), ("C3", "C4", "R2", "tweeter")):
        lefts = [placed[name].body.x0 for name in names]
        assert lefts == sorted(lefts)
    assert placed["L1"].start[1] == placed["L3"].start[1]
    assert placed["C1"].start[0] == placed["C1"].end[0]
    assert placed["C1"].body.y1 < placed["L1"].start[1]


def test_a_branch_with_a_node_inside_is_stacked() -> None:
    placed = {one.item.name: one for one in lay_out(TWO_WAY).symbols}
    assert placed["R1"].start[0] == placed["C2"].start[0]
    assert placed["R1"].body.y0 > placed["C2"].body.y1


def test_a_bypass_runs_above() -> None:
    placed = {one.item.name: one for one in lay_out(IN_ROWS["bypassed"]).symbols}
    assert placed["C9"].body.y0 > placed["L1"].body.y1
    assert placed["R1"].body.y0 > placed["C3"].body.y1


def test_polarity_is_kept() -> None:
    placed = {one.item.name: one for one in lay_out(TWO_WAY).symbols}
    assert placed["woofer"].start[1] > placed["woofer"].end[1]
    assert placed["tweeter"].start[1] < placed["tweeter"].end[1]


def test_every_caption_of_a_node_names_a_node_that_is_there() -> None:
    names = {one.lines[0] for one in lay_out(TWO_WAY).captions if one.role == "node"}
    assert names == {"in", "m", "w", "z", "a", "b", "t", "gnd"}


def test_instruments_earth_is_a_bar_of_its_own() -> None:
    base = circuit("L1 in m", "C1 m gnd", "C7 m earth", "C8 in earth", "L9 gnd earth")
    both = Circuit(base.items, ("gnd", "earth"), "in", ("m",), base.flags)
    diagram = lay_out(both)
    assert diagram.manner == "rows"
    assert {(bar.node, bar.style) for bar in diagram.bars} == {("gnd", 0), ("earth", 1)}
    assert_whole(diagram, both)


def test_overlaps_are_found() -> None:
    diagram = lay_out(TWO_WAY)
    first, second, *rest = diagram.symbols
    moved = type(second)(second.item, second.start, second.end, first.body)
    symbols = (first, moved, *rest)
    bad = Diagram(symbols, diagram.wires, (), (), (), ())
    assert any("overlap" in one for one in clashes(bad))
    y = (first.body.y0 + first.body.y1) / 2.0
    through = Wire("x", ((-100.0, y), (100.0, y)))
    bad = Diagram((first,), (through,), (), (), (), ())
    assert clashes(bad) == [f"the wire of x runs through {first.item.name}"]
    bad = Diagram((), (through, Wire("y", ((0.0, y), (0.0, 9.0)))), (), (), (), ())
    assert clashes(bad) == ["the wires of x and y run together"]
    crossing = Wire("y", ((0.0, y - 5.0), (0.0, y + 5.0)))
    assert clashes(Diagram((), (through, crossing), (), (), (), ())) == []


def test_dots_stand_where_three_pieces_meet() -> None:
    wires = (
        Wire("a", ((0.0, 0.0), (2.0, 0.0))),
        Wire("a", ((1.0, 0.0), (1.0, -1.0))),
        Wire("a", ((2.0, 0.0), (2.0, -1.0))),
        Wire("b", ((0.0, -0.5), (3.0, -0.5))),
    )
    assert junctions(wires) == ((1.0, 0.0),)


def test_bounds_hold_everything() -> None:
    diagram = lay_out(THREE_WAY)
    bounds = diagram.bounds.grown(1e-9)
    boxes: list[Box] = [one.body for one in diagram.symbols]
    boxes += [one.box for one in diagram.captions]
    boxes += [one.box for one in diagram.tags]
    boxes += [one.box for one in diagram.bars]
    assert all(box.within(bounds) for box in boxes)
