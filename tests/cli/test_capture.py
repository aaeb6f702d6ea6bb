"""`ohmbook capture` on files of several makes: what it prints, asks, writes, and how it ends.

The contract is the project's own; no outside source.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ohmbook.cli import exits
from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet
from tests.captures.waves import L_H, Floats, csv, pair, wav

from .test_commands import document, run

T: Floats = np.arange(4000, dtype=float) * 5e-6
STEPS = (500.0, 2000.0, 8000.0)


def scope(folder: Path, f_hz: float = 2000.0) -> Path:
    path = folder / "coil.csv"
    path.write_bytes(csv([T, *pair(T, f_hz)], "Time (s),CH1 (V),CH2 (V)"))
    return path


def sound(folder: Path, *, swap: bool = False) -> Path:
    t: Floats = np.arange(24_000, dtype=float) / 48_000
    x = np.concatenate([np.column_stack(pair(t, f, 0.5)) for f in STEPS])
    path = folder / "coil.wav"
    path.write_bytes(wav(x[:, ::-1] if swap else x, 48_000, 24))
    return path


def test_what_is_in_it_is_told(tmp_path: Path) -> None:
    done = run("capture", scope(tmp_path))
    assert done.exit_code == exits.DONE
    for word in ("4000 rows", "CH1", "CH2", "Taken for granted", "delimiter: comma", "2000"):
        assert word in done.stdout


def test_two_channels_behind_a_resistor_make_a_reading(tmp_path: Path) -> None:
    found = document(
        "capture", sound(tmp_path), "--resistor", "100 ohm ± 1 %", "--part", "L7", "--json"
    )
    assert len(found["impedance"]["frequency_hz"]) == len(STEPS)
    text = 'parts.L7 = { kind = "inductor" }\n' + found["reading"]
    estimate = settle(read_sheet(text=text)).estimate("L7", "inductance")
    assert estimate.low < L_H < estimate.high
    assert found["sha256"][:16] in found["reading"]


def test_swapped_channels_make_no_reading(tmp_path: Path) -> None:
    found = document("capture", sound(tmp_path, swap=True), "--resistor", "100 ohm", "--json")
    assert found["reading"] == ""
    assert any("swapped" in one for one in found["notes"])
    put_right = ("--answer", "input=right", "--answer", "across=left")
    found = document(
        "capture", sound(tmp_path, swap=True), "--resistor", "100 ohm", *put_right, "--json"
    )
    assert found["reading"]
    assert found["questions"] == []


def test_what_is_asked_can_be_answered(tmp_path: Path) -> None:
    path = tmp_path / "raw.csv"
    path.write_text("\n".join(f"{128 + 60 * a:.0f}" for a in pair(T, 500.0)[0]))
    asked = document("capture", path, "--json")
    assert {one["key"] for one in asked["questions"]} == {"interval", "scale"}
    assert "--answer 'interval=" in run("capture", path).stdout
    answers = ("--answer", "interval=5 us", "--answer", "scale=20 mV")
    done = run("capture", path, *answers)
    assert "500" in done.stdout
    assert "Asked" not in done.stdout


def test_a_touchstone_file_makes_a_reading(tmp_path: Path) -> None:
    path = tmp_path / "coil.s1p"
    z = [0.5 + 2j * np.pi * f * 1e-3 for f in STEPS]
    rows = [(f, (one - 50) / (one + 50)) for f, one in zip(STEPS, z, strict=True)]
    path.write_text(
        "# HZ S RI R 50\n" + "\n".join(f"{f} {s.real:.9f} {s.imag:.9f}" for f, s in rows)
    )
    found = document("capture", path, "--json")
    assert found["impedance"]["magnitude"] == pytest.approx(np.abs(z), rel=1e-6)
    assert 'kind = "impedance"' in found["reading"]


def test_the_picture_is_written(tmp_path: Path) -> None:
    run("capture", sound(tmp_path), "--figures", tmp_path / "out")
    assert sorted(one.suffix for one in (tmp_path / "out").iterdir()) == [".png", ".svg"]


@pytest.mark.parametrize(
    ("args", "status", "words"),
    [
        (("nothing.csv",), exits.CALL_AT_FAULT, "No such file"),
        (("{scope}", "--answer", "interval"), exits.CALL_AT_FAULT, 'has no "="'),
        (("{scope}", "--answer", "intervall=2 us"), exits.DATA_AT_FAULT, "answers no question"),
        (("{scope}", "--answer", "on=both", "--resistor", "9 ohm"), exits.DATA_AT_FAULT, "part or"),
        (("{scope}", "--resistor", "9 apples"), exits.DATA_AT_FAULT, "apples"),
        (("{scope}", "--resistor", "0 ohm"), exits.DATA_AT_FAULT, "more than 0"),
        (("{empty}",), exits.DATA_AT_FAULT, "empty"),
    ],
)
def test_what_is_wrong_is_told(
    args: tuple[str, ...], status: int, words: str, tmp_path: Path
) -> None:
    (tmp_path / "empty.csv").write_bytes(b"")
    named = {"scope": str(scope(tmp_path)), "empty": str(tmp_path / "empty.csv")}
    done = run("capture", *(one.format(**named) for one in args))
    assert done.exit_code == status
    assert words in done.stderr
