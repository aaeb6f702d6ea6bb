"""The commands on real sheets: what they print, what they write, how they end.

The contract is the project's own; no outside source. Broken sheets have tests of their own in
tests/sheet; here it only matters that their message comes through whole.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from ohmbook.cli import app, exits

BOARD = """\
title = "One coil, one capacitor"
defaults = { source = "generator", instrument = "scope" }
sources.generator = { resistance = "50 ohm ± 5 %", open = "4 Vpp" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope", reads = "cursors" }
sketch = { input = "in", ground = "gnd" }

[parts]
L1 = { kind = "inductor", between = ["in", "w"] }
C1 = { kind = "capacitor", value = "8.2 uF ± 10 %", between = ["in", "t"] }
woofer = { kind = "driver", rated = "8 ohm", between = ["w", "gnd"] }
tweeter = { kind = "driver", rated = "8 ohm", between = ["t", "gnd"] }

[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5.6 kHz"
across = "2 Vpp"

[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "8 kHz"
open = "4 Vpp"
across = "2.56 Vpp"
"""

runner = CliRunner()


def run(*args: str | Path, typed: str | None = None) -> Result:
    """One command; whatever it didn't mean to raise is raised here."""
    done = runner.invoke(app, [str(arg) for arg in args], input=typed)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done


def document(*args: str | Path, typed: str | None = None) -> Any:
    """The one JSON document on stdout; NaN and Infinity are refused."""
    done = run(*args, "--json", typed=typed)
    assert done.exit_code == exits.DONE, done.stderr
    assert done.stderr == ""

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} in the document")

    return json.loads(done.stdout, parse_constant=refuse)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sheets") / "board.toml"
    path.write_text(BOARD, encoding="utf-8")
    return path


def test_settle_prints_values_agreement_and_doubt(sheet: Path) -> None:
    shown = run("settle", sheet)
    assert shown.exit_code == exits.DONE
    assert re.search(r"^  L1 +0\.8\d+ mH \(0\.\d+ to 0\.\d+\) +±\d", shown.stdout, re.MULTILINE)
    assert "Do the readings agree? Yes" in shown.stdout
    assert "Where the doubt comes from" in shown.stdout
    assert shown.stdout.index("! ") < shown.stdout.index("L1")
    assert not any(line != line.rstrip() for line in shown.stdout.splitlines())


def test_settle_gives_the_contract_s_document(sheet: Path) -> None:
    found = document("settle", sheet)
    assert set(found) >= {"estimates", "consistency", "findings"}
    assert set(found["estimates"]) >= {"L1", "C1", "generator"}
    one = found["estimates"]["L1"]["inductance"]
    assert set(one) >= {
        "value",
        "standard_uncertainty",
        "interval",
        "probability",
        "unit",
        "determined",
        "frequency_hz",
    }
    assert one["interval"][0] < one["value"] < one["interval"][1]
    assert (one["unit"], one["probability"]) == ("H", 0.95)
    assert set(found["consistency"]) == {"chi_squared", "degrees_of_freedom", "p_value"}
    for finding in found["findings"]:
        assert set(finding) == {"kind", "message", "readings", "parts", "explanations"}


def test_a_sheet_comes_from_standard_input_too(sheet: Path) -> None:
    assert document("settle", "-", typed=BOARD) == document("settle", sheet)


def test_values_are_told_at_the_frequency_that_was_asked_for(sheet: Path) -> None:
    for asked in ("1 kHz", "1000", "1e3"):
        found = document("settle", sheet, "--at", asked)["estimates"]
        assert found["L1"]["inductance"]["frequency_hz"] == 1000.0
        assert found["C1"]["capacitance"]["frequency_hz"] == 1000.0


@pytest.mark.parametrize("asked", ["0 Hz", "-1 kHz", "nan", "inf", "1 mH", "often"])
def test_a_frequency_that_is_none_is_the_call_s_fault(sheet: Path, asked: str) -> None:
    done = run("settle", sheet, f"--at={asked}")
    assert done.exit_code == exits.CALL_AT_FAULT
    assert "--at" in done.stderr
    assert not done.stdout


def test_the_working_names_its_source(sheet: Path) -> None:
    plain, worked = run("settle", sheet), run("settle", sheet, "--working")
    assert "Source: " not in plain.stdout
    assert "Source: " in worked.stdout
    assert "L = X / (2 pi f)" in worked.stdout


def test_refits_can_be_asked_for(sheet: Path) -> None:
    found = document("settle", sheet, "--monte-carlo", "40")["estimates"]["L1"]["inductance"]
    assert found["interval"][0] < found["value"] < found["interval"][1]


def test_too_few_refits_are_the_call_s_fault(sheet: Path) -> None:
    """One refit once gave an interval of no width beside the value."""
    done = run("settle", sheet, "--monte-carlo", "1")
    assert done.exit_code == exits.CALL_AT_FAULT
    assert "expected at least 40" in done.stderr
    assert not done.stdout


def test_figures_are_written_as_svg_and_png(sheet: Path, tmp_path: Path) -> None:
    folder = tmp_path / "new" / "figures"
    done = run("settle", sheet, "--figures", folder)
    assert done.exit_code == exits.DONE
    written = {path.name for path in folder.iterdir()}
    for name in ("response", "impedance", "schematic", "readings-L1", "set-up-1"):
        assert {f"{name}.svg", f"{name}.png"} <= written
        assert name in done.stdout
    assert all(path.stat().st_size > 1000 for path in folder.iterdir())


def test_figures_that_cannot_be_written_are_told(sheet: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    done = run("behaviour", sheet, "--draws", "0", "--figures", tmp_path / "file")
    assert done.exit_code in {exits.DATA_AT_FAULT, exits.CALL_AT_FAULT}
    assert "cannot be written" in done.stderr


def test_behaviour_gives_the_contract_s_document(sheet: Path) -> None:
    found = document("behaviour", sheet, "--draws", "50")
    assert set(found) == {"outputs", "input_impedance", "summary", "findings"}
    assert found["findings"] == []
    assert set(found["outputs"]) == {"woofer", "tweeter"}
    curve = found["outputs"]["woofer"]
    assert set(curve) == {"frequency_hz", "gain_db", "gain_db_low", "gain_db_high", "phase_deg"}
    assert {len(column) for column in curve.values()} == {400}
    assert (curve["frequency_hz"][0], curve["frequency_hz"][-1]) == (20.0, 20000.0)
    assert {"crossings", "minimum_impedance"} <= set(found["summary"])
    crossing = found["summary"]["crossings"][0]
    low, high = crossing["frequency_hz"]["interval"]
    assert low < crossing["frequency_hz"]["value"] < high


def test_behaviour_on_another_grid_and_without_a_band(sheet: Path) -> None:
    found = document("behaviour", sheet, "--draws", "0", "--frequencies", "100", "10 kHz", "11")
    curve = found["outputs"]["tweeter"]
    assert len(curve["frequency_hz"]) == 11
    assert (curve["frequency_hz"][0], curve["frequency_hz"][-1]) == (100.0, 10000.0)
    assert not any(curve["gain_db_low"] or [])


@pytest.mark.parametrize(
    "span",
    [
        ("10 kHz", "100 Hz", "11"),
        ("0", "1 kHz", "5"),
        ("1", "9", "1"),
        ("20", "20 kHz", "1000000000"),
    ],
)
def test_a_grid_that_cannot_be_is_the_call_s_fault(sheet: Path, span: tuple[str, ...]) -> None:
    done = run("behaviour", sheet, "--frequencies", *span)
    assert done.exit_code == exits.CALL_AT_FAULT
    assert done.stderr.count("\n") == 1


def test_behaviour_prints_a_summary(sheet: Path) -> None:
    shown = run("behaviour", sheet, "--draws", "50").stdout
    assert "woofer and tweeter cross at" in shown
    assert "lowest" in shown


def test_a_sheet_without_a_sketch_has_no_behaviour() -> None:
    parts = re.sub(r'sketch = .*|, between = \[".*?"\]', "", BOARD)
    done = run("behaviour", "-", typed=parts)
    assert done.exit_code == exits.DATA_AT_FAULT
    assert "sketch" in done.stderr
    assert run("settle", "-", typed=parts).exit_code == exits.DONE


def test_next_prints_a_form_and_gives_the_contract_s_document(sheet: Path) -> None:
    found = document("next", sheet)
    assert found["suggestions"]
    for one in found["suggestions"]:
        assert {"reading", "expected", "improves", "why"} <= set(one)
        assert "kind" in one["reading"]
    shown = run("next", sheet).stdout
    assert "________" in shown
    assert "[[readings]]" in shown


def test_a_plan_printed_goes_into_the_sheet_as_it_is(sheet: Path) -> None:
    shown = run("next", sheet, "--plan", "3", "--within", "1 %").stdout
    assert shown.startswith("# A plan of ")
    again = run("settle", "-", typed=f"{sheet.read_text(encoding='utf-8')}\n{shown}")
    assert again.exit_code == exits.DONE
    assert "still to be read" in again.stdout
    found = document("next", sheet, "--plan", "3", "--within", "1 %")
    assert found["plan"]["text"] == shown
    assert found["suggestions"] == []
    assert found["good_enough"]["within"] == 0.01


def test_what_next_is_asked_for_is_checked(sheet: Path) -> None:
    assert "Good enough?" in run("next", sheet, "--want", "L1").stdout
    for wrong in (("--want", "L77"), ("--within", "0 dB"), ("--within", "much"), ("--plan", "0")):
        done = run("next", sheet, *wrong)
        assert done.exit_code == exits.CALL_AT_FAULT, wrong
        assert "expected" in done.stderr or "can be wanted" in done.stderr
    told = document("next", sheet, "--within", "0.5 dB")["good_enough"]
    assert "dB" in told["words"]


def test_a_broken_sheet_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "broken.toml"
    path.write_text(BOARD.replace('"5.6 kHz"', '"5.6 kV"'), encoding="utf-8")
    for command in ("settle", "behaviour", "next"):
        done = run(command, path)
        assert done.exit_code == exits.DATA_AT_FAULT
        assert f"{path}, line 16" in done.stderr
        assert not done.stdout


def test_marking_ranks_its_meanings() -> None:
    shown = run("marking", "0.56", "--kind", "coil")
    assert "1. 0.56 mH" in shown.stdout
    found = document("marking", "0.56", "--kind", "inductor")
    best = found["meanings"][0]
    assert (best["value"], best["unit"], best["kind"]) == (pytest.approx(0.56e-3), "H", "inductor")
    chances = [one["probability"] for one in found["meanings"]]
    assert chances == sorted(chances, reverse=True)


@pytest.mark.parametrize(
    ("args", "status"),
    [
        (["marking", "0.56", "--kind", "spoon"], exits.CALL_AT_FAULT),
        (["marking", "?!"], exits.DATA_AT_FAULT),
        (["marking", ""], exits.DATA_AT_FAULT),
    ],
)
def test_a_marking_without_meaning_is_told(args: list[str], status: int) -> None:
    done = run(*args)
    assert done.exit_code == status
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("kind", [(), ("--kind", "parts")])
def test_start_writes_a_sheet_that_settles(tmp_path: Path, kind: tuple[str, ...]) -> None:
    path = tmp_path / "mine.toml"
    assert run("start", path, *kind).exit_code == exits.DONE
    assert run("settle", path).exit_code == exits.DONE


def test_start_never_overwrites(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine")
    done = run("start", path)
    assert done.exit_code == exits.CALL_AT_FAULT
    assert "left alone" in done.stderr
    assert path.read_text() == "mine"
    assert run("start", tmp_path / "no" / "folder.toml").exit_code == exits.CALL_AT_FAULT
    assert run("start", tmp_path / "new.toml", "--kind", "boat").exit_code == exits.CALL_AT_FAULT
    assert not (tmp_path / "new.toml").exists()


def test_a_coil_without_a_file() -> None:
    least = ("coil", "--source", "50 ohm ± 5 %", "--half-at", "5.6 kHz")
    shown = run(*least)
    assert shown.exit_code == exits.DONE
    lines = shown.stdout.splitlines()
    assert re.match(r"coil: 0\.8\d+ mH \(0\.\d+ to 0\.\d+\)", lines[0])
    assert len(lines) <= 24, "one screen"
    for words in ("Biggest doubt: ", "Remedy: ", "Before you connect", "How it was connected"):
        assert words in shown.stdout
    assert "--loaded" in shown.stdout, "the remedy is told by options"
    assert "inductance" in document(*least)["estimates"]["coil"]
    assert "Source: " in run(*least, "--working").stdout


@pytest.mark.parametrize(
    ("args", "told"),
    [
        (("capacitor", "--source", "50 ohm ± 5 %", "--half-at", "600 Hz"), "capacitor: 9."),
        (("resistor", "--resistance", "8.4 ohm", "--leads", "0.2 ohm"), "resistor: 8.2"),
    ],
)
def test_the_other_parts_without_a_file(args: tuple[str, ...], told: str) -> None:
    assert run(*args).stdout.startswith(told)


@pytest.mark.parametrize(
    ("args", "status"),
    [
        (("coil", "--half-at", "5.6 kHz"), exits.CALL_AT_FAULT),
        (("coil", "--source", "50 ohm", "--half-at", "5.6 V"), exits.DATA_AT_FAULT),
        (
            ("coil", "--source", "50 ohm", "--half-at", "5.6 kHz", "--resistor", "coil"),
            exits.DATA_AT_FAULT,
        ),
    ],
)
def test_a_coil_s_faults_have_their_status(args: tuple[str, ...], status: int) -> None:
    done = run(*args)
    assert done.exit_code == status
    assert "--" in done.stderr
    assert not done.stdout


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """What the installed program prints for the demo, and where it wrote."""
    folder = tmp_path_factory.mktemp("demo")
    done = subprocess.run(
        [sys.executable, "-m", "ohmbook", "demo"],
        cwd=folder,
        capture_output=True,
        check=True,
        encoding="utf-8",
    )
    assert done.stderr == ""
    return done.stdout, folder / "out" / "demo"


def test_the_demo_shows_the_whole_job(demo: tuple[str, Path]) -> None:
    shown, folder = demo
    for words in (
        "Before you connect anything",
        "value (95 % interval)",
        "Do the readings agree?",
        "Where the doubt comes from",
        "cross at",
        "Input impedance",
        "Not yet within 5 %",
        "# A plan of 4 numbers.",
        "with the plan filled in",
        "Good enough: all that is wanted",
        "Probably a slip",
        "Figures written to out/demo/",
    ):
        assert words in shown
    written = {path.suffix for path in folder.iterdir()}
    assert written == {".svg", ".png", ".toml"}


def test_the_demo_leaves_a_sheet_that_settles_to_the_same_values(demo: tuple[str, Path]) -> None:
    shown, folder = demo
    again = run("settle", folder / "board.toml").stdout
    first = shown.partition("A plan for that")[0]
    values = [line for line in first.splitlines() if re.match(r"  [LCR]\d  ", line)]
    assert len(values) >= 10
    assert all(line in again for line in values)


def test_shares_splits_every_doubt_and_adds_up(sheet: Path) -> None:
    found = document("shares", sheet)
    assert set(found) == {"estimates", "features", "common_doubts"}
    for quantities in found["estimates"].values():
        for told in quantities.values():
            assert not told or sum(one["share"] for one in told) == pytest.approx(1.0)
    assert "of its doubt comes from" in run("shares", str(sheet)).stdout


def test_compare_tells_two_sheets_and_takes_a_share(sheet: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(sheet.read_text(encoding="utf-8"), encoding="utf-8")
    found = document("compare", sheet, other, "--alike", "5 %")
    assert all(one["verdict"] != "differs" for one in found["parts"].values())
    assert "agree" in run("compare", str(sheet), str(other)).stdout
    assert (
        run("compare", str(sheet), str(other), "--alike", "soon").exit_code == exits.CALL_AT_FAULT
    )
    assert run("compare", "-", "-").exit_code == exits.CALL_AT_FAULT
