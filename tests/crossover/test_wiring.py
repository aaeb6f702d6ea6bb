"""From a sketch and parts to a network."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from ohmbook.circuit.network import Branch, Drive
from ohmbook.crossover import behave, crossover_network, fixed_values, grid, output_names
from ohmbook.documents.part import Capacitor, Driver, Inductor, Part, Resistor, Sketch
from ohmbook.errors import CallError, CircuitError
from ohmbook.units.quantity import Quantity

EIGHT = Quantity(8.0, "ohm", "8 ohm")
PARTS: dict[str, Part] = {
    "L1": Inductor(kind="inductor", between=("in", "w")),
    "C1": Capacitor(kind="capacitor", between=("w", "gnd")),
    "R1": Resistor(kind="resistor"),
    "woofer": Driver(kind="driver", rated=EIGHT, between=("gnd", "w")),
    "tweeter": Driver(kind="driver", rated=EIGHT, between=("in", "gnd")),
}


def _sketch(**changes: Any) -> Sketch:
    return Sketch(**{"input": "in", **changes})


def test_every_part_with_nodes_is_a_branch() -> None:
    found = crossover_network(_sketch(), PARTS)
    assert found.branches == (
        Branch("L1", "inductor", ("in", "w")),
        Branch("C1", "capacitor", ("w", "gnd")),
        Branch("woofer", "resistor", ("gnd", "w")),
        Branch("tweeter", "resistor", ("in", "gnd")),
    )
    assert found.drive == Drive(("in", "gnd"))


def test_drivers_are_outputs_and_their_first_node_is_plus() -> None:
    assert output_names(_sketch(), PARTS) == ("woofer", "tweeter")
    assert crossover_network(_sketch(), PARTS).probes == (("gnd", "w"), ("in", "gnd"))


def test_the_sketch_overrides_by_name_and_adds() -> None:
    sketch = _sketch(outputs={"woofer": "w", "coil": ("in", "w")})
    assert output_names(sketch, PARTS) == ("woofer", "tweeter", "coil")
    probes = crossover_network(sketch, PARTS).probes
    assert probes == (("w", "gnd"), ("in", "gnd"), ("in", "w"))


def test_nodes_may_stand_in_the_sketch() -> None:
    sketch = _sketch(between={"R1": ("in", "w")})
    assert Branch("R1", "resistor", ("in", "w")) in crossover_network(sketch, PARTS).branches


def test_input_may_be_a_pair() -> None:
    assert crossover_network(_sketch(input=("in", "w")), PARTS).drive.ends == ("in", "w")


def test_amplifier_counts_when_it_is_not_zero() -> None:
    half = _sketch(amplifier=Quantity(0.5, "ohm", "0.5 ohm"))
    none = _sketch(amplifier=Quantity(0.0, "ohm", "0 ohm"))
    assert crossover_network(half, PARTS).drive.owner == "amplifier"
    assert crossover_network(none, PARTS).drive.owner is None
    assert fixed_values(half, PARTS)[("amplifier", "resistance")] == 0.5
    assert fixed_values(none, PARTS) == {
        ("woofer", "resistance"): 8.0,
        ("tweeter", "resistance"): 8.0,
    }


@pytest.mark.parametrize(
    ("sketch", "parts", "says"),
    [
        (None, PARTS, "add a .sketch. table"),
        (Sketch(), PARTS, 'input = "in"'),
        (_sketch(), {"R1": PARTS["R1"]}, "No part has its nodes"),
        (_sketch(), {"L1": PARTS["L1"], "C1": PARTS["C1"]}, "add to .sketch.outputs."),
        (_sketch(input="inn"), PARTS, 'input is at node "inn".*"gnd", "in", "w"'),
        (_sketch(outputs={"woofer": "x"}), PARTS, 'output "woofer" is at node "x"'),
        (_sketch(ground="0"), PARTS, 'at node "0"'),
    ],
)
def test_what_is_missing_is_said(sketch: Sketch | None, parts: dict[str, Part], says: str) -> None:
    with pytest.raises(CircuitError, match=says):
        crossover_network(sketch, parts)


def test_a_driver_turned_round_in_the_sketch_turns_its_phase() -> None:
    values = {("L1", "inductance"): 1e-3, ("C1", "capacitance"): 8e-6}
    turned = behave(
        crossover_network(_sketch(), PARTS),
        output_names(_sketch(), PARTS),
        {**values, **fixed_values(_sketch(), PARTS)},
        f_hz=np.array([20.0]),
    )
    assert abs(turned.outputs[0].phase_deg[0]) == pytest.approx(180.0, abs=2.0)
    assert turned.outputs[1].phase_deg[0] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("bad", [[], [0.0, 1.0], [-1.0], [2.0, 1.0], [1.0, 1.0], [1.0, np.inf]])
def test_frequencies_that_cannot_be(bad: list[float]) -> None:
    network = crossover_network(_sketch(), PARTS)
    with pytest.raises(CallError, match="frequencies"):
        behave(network, ("a", "b"), {}, f_hz=np.array(bad))


def test_names_must_match_the_outputs() -> None:
    with pytest.raises(CallError, match="1 names were given for 2 outputs"):
        behave(crossover_network(_sketch(), PARTS), ("woofer",), {})


def test_grid() -> None:
    points = grid(20.0, 20000.0, 400)
    assert (points[0], points[-1], points.size) == (20.0, 20000.0, 400)
    np.testing.assert_allclose(np.diff(np.log(points)), np.log(1000.0) / 399, rtol=1e-9)
    with pytest.raises(CallError, match="at least 2 points"):
        grid(100.0, 50.0, 10)
