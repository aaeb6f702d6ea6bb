"""Touchstone (open standard): option line, defaults, remarks, two-ports in series and in shunt."""

from __future__ import annotations

import numpy as np
import pytest

from ohmbook import captures
from ohmbook.captures.touchstone import impedance
from ohmbook.errors import CaptureError

F = np.array([1e3, 1e4, 1e5])
Z = 0.5 + 2j * np.pi * F * 1e-3


def rows(f: object, *values: object) -> str:
    lines = []
    for k in range(len(F)):
        cells = [np.asarray(f)[k]]
        for one in values:
            v = complex(np.asarray(one)[k])
            cells += [v.real, v.imag]
        lines.append(" ".join(f"{c:.12g}" for c in cells))
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("option", "f", "values"),
    [
        ("# HZ S RI R 50", F, (Z - 50) / (Z + 50)),
        ("# kHz S RI R 75 ! remark", F / 1e3, (Z - 75) / (Z + 75)),
        ("# MHz Z RI R 50", F / 1e6, Z / 50),
        ("# Y GHz RI R 20", F / 1e9, 20 / Z),
    ],
)
def test_a_one_port(option: str, f: object, values: object) -> None:
    text = f"! a coil\n{option}\n! more\n{rows(f, values)}\n"
    found = captures.read(text.encode(), "coil.s1p")
    assert found.form == "Touchstone"
    assert found.axis is not None
    assert found.axis.values == pytest.approx(F)
    assert impedance(found) == pytest.approx(Z, rel=1e-9)


def test_an_option_line_left_out_means_gigahertz_s_ma_50() -> None:
    s = (Z - 50) / (Z + 50)
    polar = [complex(a, b) for a, b in zip(np.abs(s), np.degrees(np.angle(s)), strict=True)]
    found = captures.read(rows(F / 1e9, polar).encode(), "coil.s1p")
    assert impedance(found) == pytest.approx(Z, rel=1e-8)
    assert ("option line", "its defaults") in [(one.what, one.why) for one in found.assumed]


@pytest.mark.parametrize("connected", ["series", "shunt"])
def test_a_two_port(connected: str) -> None:
    """ABCD of a series or a shunt part between two 50-ohm ports."""
    s21 = 2 * 50 / (2 * 50 + Z) if connected == "series" else 2 * Z / (2 * Z + 50)
    s11 = Z / (Z + 100) if connected == "series" else -50 / (50 + 2 * Z)
    text = "# HZ S RI R 50\n" + rows(F, s11, s21, s21, s11)
    found = captures.read(text.encode(), "thing.s2p")
    assert [one.key for one in found.questions] == ["two-port"]
    assert impedance(found, connected) == pytest.approx(Z, rel=1e-9)
    with pytest.raises(CaptureError, match="series"):
        impedance(found)


def test_a_reflection_above_one_is_told() -> None:
    s = np.array([1.02 + 0j, 0.9, 0.8])
    found = captures.read(f"# HZ S RI R 50\n{rows(F, s)}".encode(), "a.s1p")
    assert any("above 1" in one.message for one in found.remarks)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("# HZ S RI R 50\n1 2\n", "rows of"),
        ("# HZ S RI R 50\n1 2 x\n", "line 2"),
        ("# HZ S RI R\n1 2 3\n", "reference"),
        ("# HZ Q RI R 50\n1 2 3\n", "option line"),
        ("# HZ S RI R 50\n2 1 0\n1 1 0\n", "increase"),
        ("# HZ S RI R 50\n", "no numbers"),
        ("# HZ S RI R 50\n1 nan 0\n", "no value"),
    ],
)
def test_what_is_wrong_is_told(text: str, words: str) -> None:
    with pytest.raises(CaptureError, match=words):
        captures.read(text.encode(), "a.s1p")
