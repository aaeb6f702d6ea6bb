"""Bench methods against numbers from outside."""

from __future__ import annotations

from math import cos, log, pi, sin, sqrt

import GTC
import pytest

from tests.bench.texts import RATIO, coil, settled

HALF = 'half_of = "4.12 Vpp"'


def test_source_loading_by_the_voltage_divider() -> None:
    """Common practice, no source: 3.08 V open, 2.40 V across 178.2 ohm is 50.49 ohm."""
    found = settled(
        """
sources.generator = {{ }}
[[readings]]
kind = "source loading"
open = "3.08 Vpp"
loaded = "2.40 Vpp"
load = "178.2 ohm"
"""
    ).estimate("generator", "resistance")
    assert found.value == pytest.approx(50.49, abs=0.005)
    assert found.determined


@pytest.mark.parametrize(
    ("f", "henry"), [("10.6 kHz", 0.438e-3), ("9.3 kHz", 0.499e-3), ("600 kHz", 7.73e-6)]
)
def test_half_amplitude_of_ideal_coils(f: str, henry: float) -> None:
    """Common practice, no source: the half-amplitude frequency across 50.49 ohm."""
    found = coil(f, HALF, source="50.49 ohm").estimate("L1", "inductance")
    assert found.value == pytest.approx(henry, rel=1.3e-3)


def test_the_published_half_amplitude_constant() -> None:
    """L(uH) = 4594 / f(kHz) across 50 ohm, r = 0: published constant, recomputed 4594.41."""
    found = coil("1 kHz", HALF).estimate("L1", "inductance")
    assert found.value * 1e6 == pytest.approx(4594.41, rel=1e-4)
    assert found.value * 1e6 == pytest.approx(4594, rel=2e-4)


@pytest.mark.parametrize(
    ("source", "r", "reactance"),
    [(50.0, 0.0, 28.867513459), (50.0, 2.0, 29.933259094), (100.0, 0.8, 58.189575240)],
)
def test_half_amplitude_with_coil_resistance(source: float, r: float, reactance: float) -> None:
    """X^2 = ((R + r)^2 - 4 r^2) / 3: G. Rico, The Technology Interface, fall 1996 (method)."""
    assert sqrt(((source + r) ** 2 - 4 * r**2) / 3) == pytest.approx(reactance, rel=1e-9)
    # resistance stated, no losses: the loss exponent's prior is centred on none, so at the
    # reference frequency the value is the closed form's
    found = coil("1 kHz", HALF, source=f"{source} ohm", ohm=f"{r} ohm")
    exact = reactance / (2 * pi * 1000.0)
    # the unknown loss leaves the coil 1 to 2 % of room, in which the wide prior (1 mH, a factor of
    # 6) pulls by its share of the information: (u / ln 6)^2 of the distance
    one = found.answer.combination(("L1", "inductance"), 1000.0)
    assert one.value == pytest.approx(log(exact) - _pull(one.u, exact), abs=3e-5)
    assert abs(_pull(one.u, exact)) < 3e-4


def _pull(u: float, henry: float) -> float:
    """How far a coil's wide prior (1 mH, a factor of 6) pulls ln L."""
    return (u / log(6.0)) ** 2 * log(henry / 1e-3)


def test_choosing_the_wrong_part_to_probe_is_a_factor_of_three() -> None:
    """Half across the coil is L = R / (2 pi f sqrt 3), across the resistor L = R sqrt 3 / (2 pi f):
    voltage divider with its parts at a right angle, any textbook."""
    rest = 'open = "4 Vpp"\nacross = "2 Vpp"\nresistor = "100 ohm"\nprobe_on = "{}"'
    on_part = coil("1 kHz", rest.format("part"), source="0.001 ohm")
    on_resistor = coil("1 kHz", rest.format("resistor"), source="0.001 ohm")
    ratio = (
        on_resistor.estimate("L1", "inductance").value / on_part.estimate("L1", "inductance").value
    )
    assert ratio == pytest.approx(3.0, rel=1e-3)


def test_a_capacitor_by_its_amplitude_ratio() -> None:
    """1 uF has X = 159.155 ohm at 1 kHz; across 100 ohm q = X / sqrt(R^2 + X^2)."""
    x = 1 / (2 * pi * 1000.0 * 1e-6)
    q = x / sqrt(100.0**2 + x**2)
    found = settled(
        RATIO,
        kind="capacitor",
        f="1 kHz",
        source="100 ohm",
        ohm="0 ohm",
        rest=f'open = "4 Vpp"\nacross = "{4 * q:.9f} Vpp"',
    )
    assert found.estimate("L1", "capacitance").value == pytest.approx(1e-6, rel=1e-4)


def test_gtc_agrees_on_a_coil_with_resistance_and_losses() -> None:
    """GTC (Measurement Standards Laboratory of New Zealand) as an independent road."""
    source = GTC.ureal(50.0, 1.0)
    r = GTC.ureal(0.8, 0.05)
    loss = GTC.ureal(0.0, 0.02)
    q = GTC.ureal(2.0, 0.01) / GTC.ureal(4.0, 0.008)
    c, s = GTC.sin(loss * pi / 2), GTC.cos(loss * pi / 2)
    assert c.x**2 + s.x**2 == pytest.approx(sin(0.0) ** 2 + cos(0.0) ** 2)
    # |r + x (c + js)|^2 = q^2 |r + R + x (c + js)|^2 is quadratic in x = w L
    a = 1 - q * q
    b = 2 * c * (r - q * q * (r + source))
    d = r * r - q * q * (source + r) * (source + r)
    henry = (-b + GTC.sqrt(b * b - 4 * a * d)) / (2 * a) / (2 * pi * 1000.0)
    found = coil(
        "1 kHz",
        'open = "4.000(8) Vpp"\nacross = "2.00(1) Vpp"',
        source="50.0(1.0) ohm",
        ohm="0.80(5) ohm",
    ).answer
    one = found.combination(("L1", "inductance"), 1000.0)
    assert one.value == pytest.approx(log(henry.x) - _pull(one.u, henry.x), abs=3e-5)
    # the wide prior takes (u / ln 6)^2 / 2 = 1e-4 of the relative uncertainty away
    assert one.u == pytest.approx(henry.u / henry.x, rel=1e-3)
