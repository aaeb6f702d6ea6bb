"""Real measurements, read and fitted by our own readers and fits, against published answers.

The data stand beside the project, in ../shared/data, and are never copied into it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from ohmbook import captures
from ohmbook.captures import Capture
from ohmbook.captures.resonance import resonance
from ohmbook.evidence import Posterior
from tests.captures.curves import fitted, values

DATA = Path(__file__).parents[2].parent / "shared" / "data"


def read(name: str) -> Capture:
    path = DATA / name
    if not path.exists():
        pytest.skip(f"the real data are not beside the project (../shared/data/{name})")
    found = captures.read(path.read_bytes(), name)
    assert found.axis is not None
    assert found.open == ()
    return found


def test_a_resonator_has_the_national_laboratorys_q() -> None:
    """A. P. Gregory, NPL Report MAT 58, 2021 (data CC0): fL 3.987848 GHz, QL 7454, Q0 7546 with a
    transmission of 0.874 of the leads alone. An independent six-parameter fit: 7455.4 ± 1.9."""
    found = read("npl-resonator-figure6b.txt")
    assert found.axis is not None
    told = resonance(found.axis.values, np.asarray(found.channels[0].values))
    assert told.f_hz[0] == pytest.approx(3.987848e9, abs=0.5e3)
    assert told.q[0] == pytest.approx(7454, rel=1e-3)
    assert told.q[0] == pytest.approx(7455.4, abs=0.1)
    assert told.q[1] == pytest.approx(1.9, abs=0.1)
    assert told.unloaded_q(0.874) == pytest.approx(7546, rel=1e-3)


def cell(f: NDArray[np.float64]) -> Callable[..., NDArray[np.complex128]]:
    """R0 + L + (R1 parallel C1) over frequency."""

    def curve(r0: float, r1: float, c1: float, l0: float = 0.0) -> NDArray[np.complex128]:
        w = 2 * np.pi * f
        return np.asarray(r0 + 1j * w * l0 + r1 / (1 + 1j * w * r1 * c1))

    return curve


GUESS = {"r0": 30.0, "r1": 50.0, "c1": 10e-6}


def both_runs() -> tuple[NDArray[np.float64], list[NDArray[np.complex128]], NDArray[np.float64]]:
    """Frequencies, both runs, and the noise at each point as the runs' own repeatability."""
    runs = [read(f"dummy-cell-1-run-{k}.csv") for k in (1, 2)]
    assert runs[0].axis is not None
    z = [np.asarray(one.channels[0].values) for one in runs]
    share = np.sqrt(np.mean(np.abs(z[0] - z[1]) ** 2 / np.abs(z[0]) ** 2) / 4)
    return runs[0].axis.values, z, share * np.abs(z[0])


def settled(lead: bool) -> list[Posterior]:
    f, runs, u = both_runs()
    guess = {**GUESS, "l0": 1e-6} if lead else GUESS
    return [fitted(cell(f), guess, z, u) for z in runs]


def test_two_runs_of_a_dummy_cell_agree_within_two_tenths_of_a_percent() -> None:
    """impedance.py project (data MIT): a complex fit gives 29.117/29.101 ohm, 46.666/46.669 ohm,
    10.394/10.395 uF, lead 2.97/2.94 uH, rms 0.10 %."""
    first, second = (values(one) for one in settled(lead=True))
    for name, run_1, run_2 in [
        ("r0", 29.117, 29.101),
        ("r1", 46.666, 46.669),
        ("c1", 10.394e-6, 10.395e-6),
    ]:
        assert first[name][0] == pytest.approx(run_1, rel=2e-4)
        assert second[name][0] == pytest.approx(run_2, rel=2e-4)
        assert first[name][0] == pytest.approx(second[name][0], rel=2e-3)
    assert first["l0"][0] == pytest.approx(2.97e-6, abs=0.02e-6)
    assert second["l0"][0] == pytest.approx(2.94e-6, abs=0.02e-6)


def test_the_choice_of_model_keeps_the_lead_inductance() -> None:
    """By evidence, with the noise taken from the two runs' own repeatability."""
    f, runs, _ = both_runs()
    with_lead, without = settled(lead=True), settled(lead=False)
    for one, other, z in zip(with_lead, without, runs, strict=True):
        assert one.modes[0].log_evidence > other.modes[0].log_evidence + 100
        misfit = []
        for told in (one, other):
            at = [value for value, _ in values(told).values()]
            model = cell(f)(*at)
            misfit.append(float(np.sqrt(np.mean(np.abs(model / z - 1) ** 2))))
        assert misfit[0] == pytest.approx(0.0010, abs=1e-4)
        assert misfit[1] == pytest.approx(0.0077, abs=2e-4)


def test_a_driven_lcr_circuit_within_its_stated_uncertainty() -> None:
    """HCui91/E7-LRC (data MIT): f0 27495 ± 40 Hz, Q 3.137 ± 0.027, drive 2.018 V against 2 V
    stated; 991 ohm in all with the labelled 18 mH."""
    found = read("driven-lcr-low-damping.csv")
    assert found.axis is not None
    one = found.channels[0]
    assert one.unit == "V"
    assert one.u is not None
    f = found.axis.values

    def curve(drive: float, f0: float, q: float) -> NDArray[np.float64]:
        x = f / f0
        return np.asarray(drive / np.hypot(1 - x**2, x / q))

    told = values(fitted(curve, {"drive": 2.0, "f0": 27e3, "q": 3.0}, one.values, one.u))
    assert told["f0"][0] == pytest.approx(27495, abs=20)
    assert told["f0"][1] == pytest.approx(40, abs=10)
    assert told["q"][0] == pytest.approx(3.137, abs=0.014)
    assert told["q"][1] == pytest.approx(0.027, abs=0.006)
    assert told["drive"][0] == pytest.approx(2.018, abs=0.01)
    ohms = 2 * np.pi * told["f0"][0] * 18e-3 / told["q"][0]
    assert ohms == pytest.approx(991, abs=5)
