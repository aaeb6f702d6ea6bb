"""Boards that are hard to read: what cannot be told is told, with the reading that would help.

Readings are simulated by dense algebra (benchmarks/dense.py), which shares no code with the engine.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from benchmarks.simulate import (
    FREQUENCIES_HZ,
    Bench,
    Board,
    TruePart,
    check,
    first_order,
    grid,
    series,
    sheet,
    take,
)

import ohmbook
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet


def settled(board: Board, bench: Bench, *readings: dict[str, Any]) -> Settled:
    text = sheet(board, bench, [check(board, bench), *readings])
    return settle(read_sheet(text=text))


def not_determined(found: Settled, *parts: str) -> list[str]:
    return [
        one.message
        for one in found.findings
        if one.kind == "not determined" and set(parts) <= set(one.parts)
    ]


def holds(found: Settled, board: Board, name: str, quantity: str, within: float) -> None:
    one = found.estimate(name, quantity)
    true = board.parts[name].at(quantity, one.frequency_hz)
    assert one.determined
    assert one.value == pytest.approx(true, rel=within)


def test_first_order_woofer_arm_needs_a_load() -> None:
    """Unplugged, nothing flows in its only coil; with a load in the driver's place it is known."""
    rng = np.random.default_rng(3)
    board, bench = first_order(rng), Bench(rng)
    bare = grid(board, bench)
    found = settled(board, bench, bare)
    assert not found.estimate("L1", "inductance").determined
    message = not_determined(found, "L1")[0]
    assert "nothing flows in it with woofer unplugged" in message
    assert 'instead = { woofer = "10 ohm ± 1 %" }' in message
    blank = {"kind": "probe", "at": "in", "instead": {"woofer": "10 ohm ± 1 %"}}
    rows = "\n".join(f"{f} ?" for f in FREQUENCIES_HZ[4:10])
    loaded = {**blank, "detached": ["tweeter"], "table": "frequency/Hz w/mVpp\n" + rows}
    again = settled(board, bench, bare, take(board, bench, loaded))
    holds(again, board, "L1", "inductance", 0.03)
    assert not not_determined(again, "L1")


def test_series_network() -> None:
    """Drivers in series, coil across one and capacitor across the other: known all the same."""
    rng = np.random.default_rng(5)
    board, bench = series(rng), Bench(rng)
    found = settled(board, bench, grid(board, bench))
    for name, quantity in board.main.items():
        holds(found, board, name, quantity, 0.03)
    p_value = found.consistency.p_value
    assert p_value is not None
    assert p_value > 0.001


def test_reversed_tweeter() -> None:
    """Which way round a driver stands changes its phase by half a turn, and no reading."""
    rng = np.random.default_rng(6)
    board, bench = first_order(rng), Bench(rng)
    reading, first = grid(board, bench), check(board, bench)
    turned = board.changed("tweeter", ends=("gnd", "t"))
    plain, other = (
        settle(read_sheet(text=sheet(one, bench, [first, reading]))) for one in (board, turned)
    )
    values = [[e.value for e in found.estimates] for found in (plain, other)]
    assert values[0] == pytest.approx(values[1], rel=1e-9)
    phases = [
        np.array(ohmbook.behaviour(one, draws=0).document()["outputs"]["tweeter"]["phase_deg"])
        for one in (plain, other)
    ]
    apart = np.exp(1j * np.deg2rad(phases[0] - phases[1]))
    assert np.allclose(apart, -1.0, atol=1e-9)


def test_driver_that_cannot_be_unplugged() -> None:
    """It is told what is taken for it, and the truth stays inside what is claimed."""
    rng = np.random.default_rng(8)
    board, bench = first_order(rng), Bench(rng)
    reading = {**grid(board, bench), "detached": ["tweeter"]}
    found = settled(board, bench, take(board, bench, reading))
    told = [one.message for one in found.findings if "woofer was connected" in one.message]
    assert len(told) == 1
    assert "within a quarter or so of its rated one" in told[0]
    one = found.estimate("L1", "inductance")
    assert one.low < board.parts["L1"].value < one.high


def test_resistor_in_series_with_a_capacitors_own_resistance() -> None:
    """Only the sum is known; the node between them is proposed, and settles it."""
    rng = np.random.default_rng(9)
    parts = {
        "R1": TruePart("resistor", ("in", "x"), 0.9),
        "C1": TruePart("capacitor", ("x", "gnd"), 44e-6, 0.25, said={"dielectric": "electrolytic"}),
    }
    board, bench = Board(parts, ("in",)), Bench(rng)
    reading = grid(board, bench)
    found = settled(board, bench, reading)
    (message,) = not_determined(found, "R1", "C1")
    assert "R1 and C1's series resistance in sum" in message
    assert "probe x" in message
    one = found.estimate("R1", "resistance")
    assert one.low < 0.9 < one.high
    assert one.high / one.low > 1.5
    between = grid(board, bench, FREQUENCIES_HZ[8:], nodes=("x",))
    again = settled(board, bench, reading, between)
    holds(again, board, "R1", "resistance", 0.05)
    assert not not_determined(again, "R1", "C1")
