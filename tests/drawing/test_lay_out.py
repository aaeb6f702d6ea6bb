"""A drawing made from a sheet joins what the sheet joins, and a person can read it."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ohmbook
from ohmbook.circuit.network import Pair
from ohmbook.documents.drawing import Drawing
from ohmbook.documents.part import Part, Resistor, Sketch
from ohmbook.drawing.joined import Joined, joined
from ohmbook.drawing.lay_out import lay_out
from ohmbook.drawing.nets import nets
from ohmbook.drawing.remarks import Drawn, remarks
from ohmbook.drawing.shapes import Shape, shapes
from ohmbook.job.demo import demo_text

THREE_WAY = """
[parts]
L1 = { kind = "inductor", between = ["in", "w"] }
C1 = { kind = "capacitor", between = ["w", "gnd"] }
R1 = { kind = "resistor", between = ["w", "z"] }
C2 = { kind = "capacitor", between = ["z", "gnd"] }
woofer = { kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }
C3 = { kind = "capacitor", between = ["in", "a"] }
L2 = { kind = "inductor", between = ["a", "gnd"] }
L3 = { kind = "inductor", between = ["a", "b"] }
C4 = { kind = "capacitor", between = ["b", "gnd"] }
R2 = { kind = "resistor", between = ["b", "m"] }
R3 = { kind = "resistor", between = ["m", "gnd"] }
midrange = { kind = "driver", rated = "8 ohm", between = ["gnd", "m"] }
C5 = { kind = "capacitor", between = ["in", "c"] }
L4 = { kind = "inductor", between = ["c", "gnd"] }
C6 = { kind = "capacitor", between = ["c", "d"] }
R4 = { kind = "resistor", between = ["d", "t"] }
R5 = { kind = "resistor", between = ["t", "gnd"] }
tweeter = { kind = "driver", rated = "8 ohm", between = ["t", "gnd"] }
[sketch]
input = "in"
[sketch.outputs]
middle = ["b", "m"]
"""
BRIDGE = """
parts.R1 = { kind = "resistor", between = ["in", "a"] }
parts.R2 = { kind = "resistor", between = ["in", "b"] }
parts.R3 = { kind = "resistor", between = ["a", "b"] }
parts.R4 = { kind = "resistor", between = ["a", "0"] }
parts.R5 = { kind = "resistor", between = ["b", "0"] }
sketch = { input = "in", ground = "0", outputs = { middle = ["a", "b"] } }
"""
FLOATING_INPUT = """
parts.R1 = { kind = "resistor", between = ["p", "gnd"] }
parts.R2 = { kind = "resistor", between = ["gnd", "q"] }
sketch = { input = ["p", "q"] }
"""


def laid_out(text: str) -> tuple[Drawing, dict[str, Pair], Joined]:
    sheet = ohmbook.read_sheet(text=text)
    assert sheet.sketch is not None
    between = {name: one.between for name, one in sheet.parts.items() if one.between}
    drawing = lay_out(sheet.sketch, sheet.parts, between)
    return drawing, between, joined(drawing, nets(drawing))


@pytest.mark.parametrize(
    ("text", "into", "outputs"),
    [
        (demo_text(), "in", {}),
        (THREE_WAY, "in", {"middle": ("b", "m")}),
        (BRIDGE, "in", {"middle": ("a", "b")}),
        (FLOATING_INPUT, ("p", "q"), {}),
    ],
    ids=["demo", "three-way", "bridge", "floating input"],
)
def test_it_joins_what_the_sheet_joins(
    text: str, into: str | Pair, outputs: dict[str, Pair]
) -> None:
    drawing, between, circuit = laid_out(text)
    assert set(drawing.parts) == set(between)
    assert dict(circuit.between) == between
    assert (circuit.input, dict(circuit.outputs)) == (into, outputs)


@pytest.mark.parametrize("text", [demo_text(), THREE_WAY], ids=["demo", "three-way"])
def test_the_signal_goes_from_left_to_right_and_ground_is_below(text: str) -> None:
    drawing, between, _ = laid_out(text)
    ends = {name: drawing.ends(name) for name in drawing.parts}
    (into,) = (one.at for one in drawing.marks if one.kind == "input")
    assert all(into[0] < x for pair in ends.values() for x, _ in pair)
    for name, pair in between.items():
        (x0, y0), (x1, y1) = ends[name]
        if "gnd" in pair:
            low, high = (y1, y0) if pair[0] == "gnd" else (y0, y1)
            assert x0 == x1
            assert high > low, f"the grounded end of {name} is the lower one"
        elif not any("z" in one for one in pair):
            assert y0 == y1
            assert x0 < x1, f"{name} lies along the signal"


def bodies(drawing: Drawing) -> list[tuple[int, int, int, int]]:
    found = []
    for (x0, y0), (x1, y1) in map(drawing.ends, drawing.parts):
        upright = x0 == x1
        found.append(
            (
                min(x0, x1) - upright,
                min(y0, y1) - (not upright),
                max(x0, x1) + upright,
                max(y0, y1) + (not upright),
            )
        )
    return found


@pytest.mark.parametrize(
    "text", [demo_text(), THREE_WAY, BRIDGE], ids=["demo", "three-way", "bridge"]
)
def test_no_part_lies_on_another(text: str) -> None:
    drawing, _, _ = laid_out(text)
    for a, b in itertools.combinations(bodies(drawing), 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


@given(st.data())
def test_any_circuit_can_be_drawn(data: st.DataObject) -> None:
    nodes = ["in", "gnd", "a", "b", "c", "d"]
    pair = st.lists(st.sampled_from(nodes), min_size=2, max_size=2, unique=True)
    between = {
        f"R{k}": (one[0], one[1])
        for k, one in enumerate(data.draw(st.lists(pair, min_size=1, max_size=9)))
    }
    parts: dict[str, Part] = {name: Resistor(kind="resistor") for name in between}
    drawing = lay_out(Sketch(), parts, between)
    called = {end: one.name for one in nets(drawing) for end in one.ends}
    assert {name: (called[name, 0], called[name, 1]) for name in between} == between


@pytest.mark.parametrize("shape", shapes(), ids=lambda one: one.key)
def test_a_shape_holds_its_parts_and_leaves_out_none_of_a_whole_crossover(shape: Shape) -> None:
    found = nets(shape.drawing)
    circuit = joined(shape.drawing, found)
    assert set(shape.drawing.parts) == set(shape.parts)
    assert shape.drawing.names == ()
    if shape.whole:
        assert set(circuit.between) == set(shape.parts)
        kinds = {name: one.kind for name, one in shape.parts.items()}
        assert remarks(Drawn(shape.drawing, found, circuit, kinds)) == ()
    assert all(getattr(one, "value", None) is None for one in shape.parts.values())


def ends_of(key: str) -> dict[str, tuple[str, str]]:
    drawing = next(one for one in shapes() if one.key == key).drawing
    called = {end: one.name for one in nets(drawing) for end in one.ends}
    return {name: (called[name, 0], called[name, 1]) for name in drawing.parts}


def test_networks_are_what_the_trade_means_by_them() -> None:
    """Orders and places of parts from memory; common practice, no source."""
    third = ends_of("low-pass-3")
    assert third["L1"][1] == third["L2"][0] == third["C1"][0]
    assert third["C1"][1] == "gnd"
    correction = ends_of("impedance-correction")
    assert correction["R1"][1] == correction["C1"][0]
    assert correction["C1"][1] == "gnd"
    trap = ends_of("parallel-trap")
    assert trap["L1"] == trap["C1"] == trap["R1"]
    chain = ends_of("series-trap")
    assert chain["L1"][1] == chain["C1"][0]
    assert chain["C1"][1] == chain["R1"][0]
    pad = ends_of("pad")
    assert pad["R1"][1] == pad["R2"][0]
    series = ends_of("series-network")
    assert series["tweeter"] == series["L1"]
    assert series["woofer"] == series["C1"]
    assert series["tweeter"][1] == series["woofer"][0]


def test_parts_without_nodes_are_not_drawn() -> None:
    assert lay_out(Sketch(), {"R1": Resistor(kind="resistor")}, {}) == Drawing()
