"""The README does what it says: its commands print what it shows, its sheet settles, its code runs.

A block that begins with `$ ohmbook ...` is run; every line after it must be printed, in that order,
its numbers to 2 % (another machine's last digit may differ). `...` stands for lines left out.
`make docs` makes the blocks anew.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

import ohmbook

README = Path(__file__).parent.parent / "README.md"
TEXT = README.read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """The fenced blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```", TEXT, re.MULTILINE | re.DOTALL)


SHOWN = [block for block in blocks("text") if block.startswith("$ ohmbook")]


NUMBER = re.compile(r"\d+(?:\.\d+)?")
CLOSE = 0.02


def alike(told: str, printed: str) -> bool:
    """The same words, with the same numbers or nearly so."""
    if NUMBER.sub("#", told).split() != NUMBER.sub("#", printed).split():
        return False
    numbers = zip(NUMBER.findall(told), NUMBER.findall(printed), strict=True)
    return all(float(a) == pytest.approx(float(b), rel=CLOSE) for a, b in numbers)


def missing(told: list[str], printed: list[str]) -> list[str]:
    """The lines that were told and aren't printed at all, or not in their place."""
    left = iter(printed)
    return [
        line
        for line in told
        if line not in {"...", ""} and not any(alike(line, other) for other in left)
    ]


@pytest.mark.parametrize("block", SHOWN, ids=[block.split("\n")[0][2:40] for block in SHOWN])
def test_a_command_prints_what_the_readme_shows(block: str, tmp_path: Path) -> None:
    command, *told = block.splitlines()
    assert len(told) >= 3
    done = subprocess.run(
        [sys.executable, "-m", *shlex.split(command.removeprefix("$ "))],
        cwd=tmp_path,
        capture_output=True,
        check=True,
        encoding="utf-8",
        env={**os.environ, "COLUMNS": "80"},
    )
    assert missing(told, done.stdout.splitlines()) == []


def test_what_isn_t_printed_would_be_noticed() -> None:
    assert missing(["a", "...", "c"], ["a", "b", "c"]) == []
    assert missing(["a", "z"], ["a", "b"]) == ["z"]
    assert missing(["b", "a"], ["a", "b"]) == ["a"]
    assert missing(["0.820 mH"], ["0.821 mH"]) == []
    assert missing(["0.820 mH"], ["0.870 mH"]) == ["0.820 mH"]


def test_the_sheet_settles_and_its_readings_agree() -> None:
    (sheet,) = blocks("toml")
    settled = ohmbook.settle(ohmbook.read_sheet(text=sheet))
    assert {"L1", "C1", "generator"} <= {one.name for one in settled.estimates}
    p = settled.consistency.p_value
    assert p is not None
    assert p > 0.05


def test_the_code_runs(tmp_path: Path) -> None:
    (code,) = blocks("python")
    (sheet,) = blocks("toml")
    (tmp_path / "board.toml").write_text(sheet, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        capture_output=True,
        check=True,
        encoding="utf-8",
    )
    assert re.search(r"^L1 inductance 0\.\d+ ", done.stdout, re.MULTILINE)
