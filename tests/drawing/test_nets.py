"""What a drawing joins, against a search from point to point that shares no code with ours."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ohmbook.documents.drawing import Drawing, Spot
from ohmbook.drawing.nets import INPUT, Known, Net, nets

COORDINATE = st.integers(-4, 8)
SPOT = st.tuples(COORDINATE, COORDINATE)


@st.composite
def wires(draw: st.DrawFn) -> list[int]:
    """A wire that goes sideways and up and down by turns, or straight on."""
    x, y = draw(SPOT)
    flat = [x, y]
    for _ in range(draw(st.integers(1, 3))):
        step = draw(st.integers(-5, 5).filter(bool))
        if draw(st.booleans()):
            x += step
        else:
            y += step
        flat += [x, y]
    return flat


@st.composite
def drawings(draw: st.DrawFn) -> Drawing:
    turns = st.sampled_from([0, 90, 180, 270])
    places = draw(st.lists(st.tuples(COORDINATE, COORDINATE, turns), max_size=5))
    return Drawing.model_validate(
        {
            "parts": {f"P{k}": list(one) for k, one in enumerate(places)},
            "wires": draw(st.lists(wires(), max_size=7)),
            "junctions": draw(st.lists(SPOT, max_size=3)),
            "names": [
                {"name": draw(st.sampled_from(["a", "b"])), "at": list(at)}
                for at in draw(st.lists(SPOT, max_size=2))
            ],
            "marks": [
                {"kind": "ground", "at": list(at)} for at in draw(st.lists(SPOT, max_size=2))
            ],
        }
    )


def points(drawing: Drawing) -> set[Spot]:
    """Every point that joins what lies there."""
    found = {spot for path in drawing.paths for spot in path}
    for x, y, turn in drawing.parts.values():
        dx, dy = {0: (4, 0), 90: (0, 4), 180: (-4, 0), 270: (0, -4)}[turn]
        found |= {(x, y), (x + dx, y + dy)}
    found |= {*drawing.junctions, *(one.at for one in drawing.names)}
    return found | {one.at for one in drawing.marks}


def single_steps(drawing: Drawing) -> Iterator[tuple[Spot, Spot, str]]:
    for path in drawing.paths:
        for (x0, y0), (x1, y1) in pairwise(path):
            xs, ys = range(min(x0, x1), max(x0, x1) + 1), range(min(y0, y1), max(y0, y1) + 1)
            for a, b in pairwise([(x, y) for x in xs for y in ys]):
                yield a, b, "-" if y0 == y1 else "|"


def by_walking(drawing: Drawing) -> dict[Spot, frozenset[Spot]]:
    """Which points each point is joined to: a walk of single steps along the wires, where a
    step that goes on sideways and one that goes on up or down are places of their own."""
    steps: dict[tuple[Spot, str], set[tuple[Spot, str]]] = {}

    def join(a: tuple[Spot, str], b: tuple[Spot, str]) -> None:
        steps.setdefault(a, set()).add(b)
        steps.setdefault(b, set()).add(a)

    for a, b, way in single_steps(drawing):
        join((a, way), (b, way))
    joining = points(drawing)
    for spot in joining:
        join((spot, "-"), (spot, "|"))
    for same in (
        [one.at for one in drawing.names if one.name == "a"],
        [one.at for one in drawing.names if one.name == "b"],
        [one.at for one in drawing.marks],
    ):
        for spot in same[1:]:
            join((same[0], "-"), (spot, "-"))
    found = {}
    for spot in joining:
        seen, waiting = set(), [(spot, "-")]
        while waiting:
            place = waiting.pop()
            if place not in seen:
                seen.add(place)
                waiting += steps.get(place, ())
        found[spot] = frozenset(one for one, _ in seen) & joining
    return found


@given(drawings())
def test_nodes_are_those_that_a_walk_along_the_wires_finds(drawing: Drawing) -> None:
    expected = by_walking(drawing)
    found = nets(drawing)
    assert {frozenset(one.spots) for one in found} == set(expected.values())
    assert sorted(end for one in found for end in one.ends) == [
        (part, k) for part in sorted(drawing.parts) for k in (0, 1)
    ]
    for one in found:
        assert all(drawing.ends(part)[k] in one.spots for part, k in one.ends)
        assert all(set(drawing.paths[k]) <= set(one.spots) for k in one.wires)


@given(drawings())
def test_every_node_with_parts_has_a_name_of_its_own(drawing: Drawing) -> None:
    names = [one.name for one in nets(drawing) if one.ends]
    assert all(names)
    assert len(set(names)) == len(names)


def drawn(**said: Any) -> Drawing:
    return Drawing.model_validate(said)


def names(found: tuple[Net, ...]) -> dict[tuple[str, int], str]:
    return {end: one.name for one in found for end in one.ends}


@pytest.mark.parametrize("dot", [False, True])
def test_wires_that_cross_join_only_at_a_dot(dot: bool) -> None:
    crossing = drawn(
        parts={"R1": [0, 0, 180], "R2": [4, -4, 270]},
        wires=[[0, 0, 8, 0], [4, -4, 4, 4]],
        junctions=[[4, 0]] if dot else [],
    )
    called = names(nets(crossing))
    assert (called["R1", 0] == called["R2", 0]) is dot


def test_a_wire_that_ends_on_another_joins_it() -> None:
    tee = drawn(parts={"R1": [0, 0, 180], "R2": [4, 4, 90]}, wires=[[0, 0, 8, 0], [4, 4, 4, 0]])
    called = names(nets(tee))
    assert called["R1", 0] == called["R2", 0]


def test_a_written_name_wins_then_ground_then_what_it_was_called_then_a_new_one() -> None:
    drawing = drawn(
        parts={"L1": [0, 0, 0], "C1": [4, 0, 90], "R1": [20, 0, 0]},
        names=[{"name": "hot", "at": [0, 0]}],
        marks=[{"kind": "ground", "at": [4, 4]}],
    )
    known = Known({"L1": ("in", "w"), "C1": ("w", "0"), "R1": ("n1", "x")}, "0", ("n2",))
    assert names(nets(drawing, known)) == {
        ("L1", 0): "hot",
        ("L1", 1): "w",
        ("C1", 0): "w",
        ("C1", 1): "0",
        ("R1", 0): "n1",
        ("R1", 1): "x",
    }
    assert names(nets(drawing))["R1", 0] == "n2"
    fresh = names(nets(drawing, Known(kept=("n1", "n2"))))
    assert fresh["R1", 0] == "n4", "no new node gets a name that a reading refers to"


def test_a_node_that_is_cut_in_two_leaves_its_name_with_the_greater_part() -> None:
    whole = {
        "parts": {"R1": [0, 0, 180], "R2": [4, 0, 90], "R3": [8, 0, 0]},
        "wires": [[0, 0, 4, 0], [4, 0, 8, 0]],
    }
    before = {"R1": ("w", "a"), "R2": ("w", "b"), "R3": ("w", "c")}
    assert {names(nets(drawn(**whole), Known(before)))[one, 0] for one in before} == {"w"}
    cut = names(nets(drawn(**{**whole, "wires": [[0, 0, 4, 0]]}), Known(before)))
    assert cut["R1", 0] == cut["R2", 0] == "w"
    assert cut["R3", 0] not in {"w", "a", "b", "c"}


def test_the_node_of_the_input_is_called_so() -> None:
    drawing = drawn(parts={"L1": [0, 0, 0]}, marks=[{"kind": "input", "at": [0, 0]}])
    assert names(nets(drawing))["L1", 0] == INPUT


def test_a_large_drawing_takes_no_time() -> None:
    """20,000 pieces on one line, and as many points: what a hostile drawing might have."""
    comb = [[0, 0, 4000, 0], *([k, 0, k, 3] for k in range(0, 4000, 2))]
    found = nets(drawn(wires=comb, parts={f"R{k}": [k, 3, 90] for k in range(0, 4000, 4)}))
    assert len(found) == 1 + 1000
