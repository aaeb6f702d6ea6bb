"""Bands and intervals from joint draws."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from ohmbook import circuit as circuit_room
from ohmbook.circuit.network import Id
from ohmbook.crossover import behave
from ohmbook.crossover.features import Bounded

from . import dense
from .boards import BUTTERWORTH, FC_HZ, high_pass, low_pass, network

NAMES = ("woofer", "tweeter")
CIRCUIT, VALUES = network(low_pass(BUTTERWORTH[2]), high_pass(BUTTERWORTH[2]))
Draws = dict[Id, "float | NDArray[np.float64]"]


def _draws(u: float, count: int, seed: int = 1) -> Draws:
    rng = np.random.default_rng(seed)
    return {key: value * np.exp(u * rng.standard_normal(count)) for key, value in VALUES.items()}


def _linear_u(f_hz: NDArray[np.float64], u: float) -> NDArray[np.float64]:
    """Law of propagation (GUM 5.1.2) by central differences of the dense solver, in dB."""
    total = np.zeros((2, f_hz.size))
    for key, value in VALUES.items():
        gains = [
            20 * np.log10(np.abs(dense.respond(CIRCUIT, {**VALUES, key: value * k}, f_hz).transfer))
            for k in (np.exp(u), np.exp(-u))
        ]
        total += ((gains[0] - gains[1])[:, 0] / 2.0) ** 2
    return np.sqrt(total)


def test_band_is_what_the_law_of_propagation_says_for_small_spreads() -> None:
    f_hz = np.array([500.0, 2000.0, 3000.0, 5000.0, 12000.0])
    u = 0.002
    shown = behave(CIRCUIT, NAMES, VALUES, _draws(u, 6000), f_hz)
    expected = 1.959964 * _linear_u(f_hz, u)
    for k, curve in enumerate(shown.outputs):
        assert curve.band is not None
        half = (curve.band.high - curve.band.low) / 2.0
        # 6000 draws pin a 97.5 % quantile to about 1.7 %; three of those.
        np.testing.assert_allclose(half, expected[k], rtol=0.05)
        middle = (curve.band.high + curve.band.low) / 2.0
        np.testing.assert_allclose(middle, curve.gain_db, atol=0.06 * float(expected.max()))


def test_band_is_the_quantile_of_the_draws() -> None:
    f_hz = np.array([1000.0, 3000.0])
    drawn = _draws(0.05, 300)
    shown = behave(CIRCUIT, NAMES, VALUES, drawn, f_hz)
    answer = dense.respond(CIRCUIT, drawn, f_hz)
    gain = 20 * np.log10(np.abs(answer.transfer[1]))
    band = shown.outputs[1].band
    assert band is not None
    np.testing.assert_allclose(band.low, np.quantile(gain, 0.025, axis=0), rtol=1e-9)
    np.testing.assert_allclose(band.high, np.quantile(gain, 0.975, axis=0), rtol=1e-9)
    ohms = shown.input_impedance.band
    assert ohms is not None
    expected = np.quantile(np.abs(answer.input_impedance), 0.975, axis=0)
    np.testing.assert_allclose(ohms.high, expected, rtol=1e-9)


def test_joint_draws_keep_what_cancels() -> None:
    # One common factor on every C and L moves the crossing; L up as C down leaves fc, moves R.
    factor = np.exp(0.05 * np.random.default_rng(2).standard_normal(500))

    def scaled(power_l: float, power_c: float) -> Draws:
        power = {"inductance": power_l, "capacitance": power_c, "resistance": 0.0}
        return {key: value * factor ** power[key[1]] for key, value in VALUES.items()}

    (together,) = behave(CIRCUIT, NAMES, VALUES, scaled(1.0, 1.0)).crossings
    low, high = np.quantile(FC_HZ / factor, (0.025, 0.975))
    assert together.frequency_hz.low == pytest.approx(low, rel=1e-4)
    assert together.frequency_hz.high == pytest.approx(high, rel=1e-4)
    (against,) = behave(CIRCUIT, NAMES, VALUES, scaled(1.0, -1.0)).crossings
    assert against.frequency_hz.low == pytest.approx(FC_HZ, rel=1e-6)
    assert against.frequency_hz.high == pytest.approx(FC_HZ, rel=1e-6)


def test_equal_draws_give_an_interval_of_no_width() -> None:
    drawn: Draws = {key: np.full(20, value) for key, value in VALUES.items()}
    shown = behave(CIRCUIT, NAMES, VALUES, drawn)
    (crossing,) = shown.crossings
    assert crossing.frequency_hz.low == pytest.approx(crossing.frequency_hz.value, rel=1e-12)
    assert crossing.frequency_hz.high == pytest.approx(crossing.frequency_hz.value, rel=1e-12)
    lowest = shown.minimum_impedance.ohm
    assert lowest.low == pytest.approx(lowest.value, rel=1e-9)
    corner = shown.traits["woofer"].corners[0].frequency_hz
    assert corner.low == pytest.approx(corner.value, rel=1e-12)
    assert corner.high == pytest.approx(corner.value, rel=1e-12)


def test_intervals_hold_their_values_even_where_the_curve_is_flat() -> None:
    # Zin of this board is flat at 8 ohm: every draw's lowest point lies below it.
    shown = behave(CIRCUIT, NAMES, VALUES, _draws(0.02, 200))
    lowest = shown.minimum_impedance.ohm
    assert lowest.low is not None
    assert lowest.high is not None
    assert lowest.low < 7.9 < lowest.value <= lowest.high


def _leaves(node: Any, path: str = "") -> list[tuple[str, Any]]:
    if isinstance(node, dict):
        return [leaf for key, one in node.items() for leaf in _leaves(one, f"{path}/{key}")]
    return [(path, node)]


def test_document_is_the_contract() -> None:
    document = behave(CIRCUIT, NAMES, VALUES, _draws(0.02, 50)).document()
    json.dumps(document, allow_nan=False)
    assert set(document) == {"outputs", "input_impedance", "summary", "findings"}
    assert list(document["outputs"]) == list(NAMES)
    curve = document["outputs"]["woofer"]
    assert set(curve) == {
        "frequency_hz",
        "gain_db",
        "gain_db_low",
        "gain_db_high",
        "phase_deg",
    }
    assert all(len(one) == 400 for one in curve.values())
    assert (curve["frequency_hz"][0], curve["frequency_hz"][-1]) == (20.0, 20000.0)
    assert set(document["input_impedance"]) == {
        "frequency_hz",
        "magnitude_ohm",
        "magnitude_ohm_low",
        "magnitude_ohm_high",
        "phase_deg",
    }
    (crossing,) = document["summary"]["crossings"]
    assert crossing["between"] == ["woofer", "tweeter"]
    low, high = crossing["frequency_hz"]["interval"]
    assert low < crossing["frequency_hz"]["value"] < high
    assert (crossing["draws"], crossing["draws_without"]) == (50, 0)
    lowest = document["summary"]["minimum_impedance"]
    assert set(lowest) == {"ohm", "frequency_hz"}
    assert len(lowest["ohm"]["interval"]) == 2


def test_without_draws_there_is_no_band() -> None:
    document = behave(CIRCUIT, NAMES, VALUES).document()
    json.dumps(document, allow_nan=False)
    assert document["outputs"]["woofer"]["gain_db_low"] is None
    assert document["input_impedance"]["magnitude_ohm_high"] is None
    assert document["summary"]["crossings"][0]["frequency_hz"]["interval"] is None
    assert document["summary"]["minimum_impedance"]["ohm"]["interval"] is None


def test_a_null_is_null(monkeypatch: pytest.MonkeyPatch) -> None:
    def silent(*_: object) -> dense.Answer:
        transfer = np.ones((2, 1, 3), np.complex128)
        transfer[0, 0] = [0.0, 1.0, -1.0]
        transfer[1] = 0.0
        return dense.Answer(transfer, np.full((1, 3), 8.0 + 0j))

    monkeypatch.setattr(circuit_room, "respond", silent)
    document = behave(CIRCUIT, NAMES, VALUES, f_hz=np.array([1.0, 2.0, 3.0])).document()
    json.dumps(document, allow_nan=False)
    woofer = document["outputs"]["woofer"]
    assert woofer["gain_db"] == [None, 0.0, 0.0]
    assert woofer["phase_deg"] == [None, 0.0, 180.0]
    assert document["outputs"]["tweeter"]["gain_db"] == [None] * 3
    assert document["summary"]["levels"]["tweeter"] is None
    assert document["summary"]["crossings"] == []


def test_phase_stays_above_minus_half_a_turn(monkeypatch: pytest.MonkeyPatch) -> None:
    def turned(*_: object) -> dense.Answer:
        return dense.Answer(
            np.full((2, 1, 2), complex(-1.0, -0.0)), np.full((1, 2), complex(8.0, 0.0))
        )

    monkeypatch.setattr(circuit_room, "respond", turned)
    shown = behave(CIRCUIT, NAMES, VALUES, f_hz=np.array([1.0, 2.0]))
    assert shown.outputs[0].phase_deg.tolist() == [180.0, 180.0]


def test_what_has_been_worked_out_cannot_be_written_to() -> None:
    shown = behave(CIRCUIT, NAMES, VALUES, f_hz=np.array([100.0, 200.0]))
    with pytest.raises(ValueError, match="read-only"):
        shown.outputs[0].gain_db[0] = 1.0
    assert Bounded(1.0).document() == {"value": 1.0, "interval": None}
