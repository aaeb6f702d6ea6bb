"""A driver behind a resistor, held to the contract; the three points against Small's algebra."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, pi
from typing import ClassVar

import numpy as np
import pytest
from scipy import optimize

from ohmbook.bench.three_points import three_points
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet
from ohmbook.units.show import show_plain
from tests.bench.method_contract import MethodContract

RE, FS, QMS, QES = 5.6, 32.0, 3.5, 0.42
F1, F2 = 20.948917463, 48.880807413
SOURCE = "R. H. Small, JAES 20 (5), 1972: Re 5.6, fs 32, Qms 3.5, Qes 0.42 (algebra exact)"


def driver(f: float) -> complex:
    """Re and the motional branch: Res beside Cmes and Lces."""
    res = RE * QMS / QES
    cmes = QES / (2 * pi * FS * RE)
    lces = RE / (2 * pi * FS * QES)
    return RE + 1.0 / (1.0 / res + 2j * pi * f * cmes + 1.0 / (2j * pi * f * lces))


IN_STEP = 1.0 / (1.0 + exp(-1.5))
FLANK = round(optimize.brentq(lambda f: np.cos(np.angle(driver(f))) - IN_STEP, FS, 40.0), 3)


def table(series: float, known: float, f_hz: Sequence[float]) -> str:
    lines = []
    for f in f_hz:
        across = 2.0 * abs(driver(f) / (series + driver(f)))
        lines.append(f"{f} {1e3 * across:.7f} {2e3 * known / (series + known):.7f}")
    return "\n".join(lines)


class TestDriverByConstantCurrent(MethodContract):
    """1 kohm in series, 10 ohm known: the size on a flank, where its angle's cosine is 0.8176.

    That cosine is what is believed before, so that nothing pulls."""

    kind = "driver impedance"
    target = ("woofer", f"impedance at {show_plain(FLANK, 'Hz', 6)}")
    truth = abs(driver(FLANK))
    trials = 200
    source = SOURCE
    hostile: ClassVar[Sequence[tuple[str, str, str]]] = (
        ('part = "woofer"', 'part = "L1"', "expected a driver"),
        ("across/mVpp", "across/ohm", "unit of"),
        ("\n32.0 ", "\n12.0 ", "expected frequencies that rise"),
        ('known = "10 ohm ± 0.5 %"', 'known = "0 ohm"', "is no resistor"),
        ('resistor = "1 kohm ± 0.5 %"', "", "resistor"),
    )

    def at_hz(self, found: Settled) -> float | None:
        return None

    def resistor(self) -> tuple[str, float]:
        return "1 kohm ± 0.5 %", 1050.0

    def text(self) -> str:
        words, series = self.resistor()
        return f"""
sources.generator = {{ resistance = "50 ohm ± 2 %" }}
instruments.scope = {{ kind = "oscilloscope", amplitude = "0.5 % + 5 uV", shared_gain = "3 %" }}
[parts]
L1 = {{ kind = "inductor" }}
woofer = {{ kind = "driver", rated = "8 ohm" }}
[[readings]]
kind = "driver impedance"
part = "woofer"
resistor = "{words}"
known = "10 ohm ± 0.5 %"
table = \"\"\"
frequency/Hz across/mVpp known/mVpp
{table(series, 10.0, (15.0, F1, FS, FLANK, F2, 200.0))}
\"\"\"
"""

    def published(self) -> Sequence[tuple[float, float, float]]:
        grid = sorted({F1, FS, F2, *(10.0 * 1.1**k for k in range(30))})
        found = three_points([(f, abs(driver(f))) for f in grid], RE)
        assert found is not None
        return [
            (found.fs_hz, FS, 1e-6),
            (found.qms, QMS, 1e-6),
            (found.qes, QES, 1e-6),
            (found.qts, 0.375, 1e-6),
            (found.highest_ohm, 52.266667, 1e-7),
            (found.r0, 9.333333, 1e-7),
            (abs(driver(F1)), 17.108283, 1e-7),
        ]


class TestDriverByDivider(TestDriverByConstantCurrent):
    """The same behind 10 ohm: a divider."""

    hostile: ClassVar[Sequence[tuple[str, str, str]]] = (
        ('resistor = "10 ohm ± 0.5 %"', 'resistor = "L1"', "not a resistor"),
        ("\n32.0 ", "\n32.0 - ", "columns|stands under no heading"),
    )

    def resistor(self) -> tuple[str, float]:
        return "10 ohm ± 0.5 %", 60.0


def test_the_working_has_the_three_points() -> None:
    text = TestDriverByConstantCurrent().text()
    text = text.replace(
        "[[readings]]",
        '[[readings]]\nkind = "resistance"\npart = "woofer"\nvalue = "5.60 ohm ± 0.01 ohm"\n'
        "wires = 4\n[[readings]]",
        1,
    )
    steps = settle(read_sheet(text=text)).workings()[-1].steps
    fs = float(steps[2].result.split()[0])
    # by hand the flanks count as plain resistances, which costs some of fs and of the Qs
    assert fs == pytest.approx(FS, rel=0.02)
    assert steps[3].result.startswith("Qms 3.")
