"""What is told where an answer has lost most of its digits; by hand from the bridge's balance."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest

from ohmbook.circuit.network import Branch, Drive, Network
from ohmbook.crossover import behave
from ohmbook.documents.finding import Finding

BRIDGE = Network(
    (
        Branch("R1", "resistor", ("in", "p")),
        Branch("R2", "resistor", ("p", "gnd")),
        Branch("R3", "resistor", ("in", "q")),
        Branch("R4", "resistor", ("q", "gnd")),
    ),
    Drive(("in", "gnd")),
    (("p", "q"), ("p", "gnd")),
)


def found(off: float, f_hz: tuple[float, ...] = (1000.0,)) -> tuple[Finding, ...]:
    ohms = {"R1": 10.0, "R2": 20.0, "R3": 30.0, "R4": 60.0 * (1.0 + off)}
    values = {(name, "resistance"): ohm for name, ohm in ohms.items()}
    return behave(BRIDGE, ("null", "p"), values, f_hz=np.array(f_hz)).findings


@pytest.mark.parametrize(("off", "digits"), [(1e-9, 9), (1e-11, 11)])
def test_a_bridge_near_balance(off: float, digits: int) -> None:
    (one,) = found(off)
    assert one.kind == "limit"
    assert one.parts[0] in {"R1", "R2", "R3", "R4"}
    assert one.message == (
        f'At 1.000 kHz, {digits} of the 16 digits of the output "null" are lost: large amounts '
        f'cancel there, and what is left hangs on more digits of "{one.parts[0]}" than anybody '
        "knows. Do not rely on the number there. If a coil or a capacitor is taken to have no "
        "resistance, write down the resistance it has."
    )


def test_it_is_told_once_and_only_above_8() -> None:
    (one,) = found(1e-12, (100.0, 1000.0, 5000.0))
    assert "Hz, the worst of 3 frequencies, 12 of the 16 digits" in one.message
    assert found(1e-6) == ()
    (null,) = found(0.0)
    assert null.message.startswith('At 1.000 kHz, 16 of the 16 digits of the output "null" are')


def test_an_input_impedance_that_all_but_vanishes() -> None:
    """A lossless coil and capacitor in series, hit to 1e-11: |X_L + X_C| = 2e-11 X_L."""
    branches = (Branch("L", "inductor", ("in", "x")), Branch("C", "capacitor", ("x", "gnd")))
    values = {("L", "inductance"): 1e-3, ("C", "capacitance"): 1e-5, ("amp", "resistance"): 1.0}
    network = Network(branches, Drive(("in", "gnd"), "amp"), (("x", "gnd"),))
    f_hz = np.array([(1.0 + 1e-11) / (2.0 * pi * sqrt(1e-3 * 1e-5))])
    (one,) = behave(network, ("x",), values, f_hz=f_hz).findings
    assert one.message.startswith("At 1.592 kHz, 11 of the 16 digits of the input impedance are")
    assert one.parts[0] in {"L", "C"}
