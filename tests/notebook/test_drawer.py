"""The drawer: a part goes there and back with what is known of it, and nothing is counted twice."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

import ohmbook
from ohmbook.errors import CallError, SheetError
from ohmbook.notebook.change import Change
from ohmbook.notebook.drawer import COUNTED
from ohmbook.notebook.ink import READINGS, Subject
from ohmbook.notebook.notebook import Notebook
from tests.notebook.books import COIL, WAITING, ohms

BENCH = """\
title = "Two coils and a board"
defaults = { source = "generator", instrument = "scope" }
sources.generator = { resistance = "50 ohm ± 5 %", open = "@loaded" }
sources.other = { resistance = "600 ohm", open = "1 Vpp" }
instruments.scope = { kind = "oscilloscope", shared_gain = "3 %", step = "0.04 div" }
instruments.meter = { kind = "multimeter", resistance = "0.8 % + 0.1 ohm" }

[parts]
L1 = { kind = "inductor", marking = "0.82", note = "the large one" }
L2 = { kind = "inductor", between = ["in", "w"] }
C1 = { kind = "capacitor", made_of = ["4.7 uF ± 5 %", "4.7 uF ± 5 %"] }
R1 = { kind = "resistor" }
R2 = { kind = "resistor", value = "47 ohm ± 1 %" }
woofer = { kind = "driver", rated = "8 ohm" }

[sketch]
input = "in"

[sketch.outputs]
woofer = "w"

[sketch.between]
R1 = ["w", "gnd"]
woofer = ["w", "gnd"]

[[readings]]
kind = "source loading"
name = "loaded"
open = "4.12 Vpp @ 1 V/div"
loaded = "2.00 Vpp @ 500 mV/div"
load = "47.2 ohm ± 0.5 %"

[[readings]]
kind = "generator off"
value = "1.2 mVpp"

[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5.6 kHz"
open = "@loaded"
across = "2.06 Vpp @ 500 mV/div"

[[readings]]
kind = "resistance"
name = "ohms"
part = "L1"
value = "0.5 ohm"
leads = "0.2 ohm"
struck = "leads not held"

[[readings]]
kind = "resistance"
part = "L1"
value = "0.6 ohm"
leads = "@ohms of R1"

[[readings]]
kind = "resistance"
name = "ohms of R1"
part = "R1"
value = "4.9 ohm"
leads = "0.2 ohm"

[[readings]]
kind = "resistance"
between = ["in", "w"]
value = "0.9 ohm"
leads = "@ohms of R1"

[[readings]]
kind = "amplitude ratio"
part = "C1"
frequency = "500 Hz"
across = "1.36 Vpp @ 500 mV/div"
resistor = "R2"
"""


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Notebook]:
    with Notebook.new(tmp_path / "bench.ohmbook", who="tester") as made:
        made.take_in("left", BENCH)
        made.take_in("coil", COIL)
        yield made


def named(book: Notebook, board: str) -> dict[str, dict[str, Any]]:
    return {one.name: one.raw for one in book.readings(board)}


def test_a_part_goes_into_the_drawer_with_its_own_readings(book: Notebook) -> None:
    code = book.label("coil", "L1")
    saved = book.put_away("coil", "L1")
    assert saved.told == ""
    assert book.boards() == ("left", "coil", "drawer")
    drawer = book.plain("drawer")
    assert drawer["parts"] == {
        "L1 (coil)": {
            "kind": "inductor",
            "marking": "0.82",
            "note": f"from coil, L1, label {code}",
        }
    }
    there = named(book, "drawer")
    assert list(there) == ["reading 1 (coil)", "ohms (coil)"]
    assert there["ohms (coil)"] == {
        **tomllib.loads(COIL)["readings"][1],
        "part": "L1 (coil)",
        "name": "ohms (coil)",
        "instrument": "multimeter, nothing told of it",
    }
    assert drawer["sources"] == {"generator (coil)": tomllib.loads(COIL)["sources"]["generator"]}
    assert "L1" not in book.plain("coil")["parts"]
    assert book.readings("coil") == ()
    assert len(book.history()) == 3


def test_its_value_is_the_same_there(book: Notebook) -> None:
    book.put_away("left", "L1")
    before = ohmbook.settle(ohmbook.read_sheet(text=BENCH)).estimate("L1", "inductance")
    there = ohmbook.settle(book.sheet("drawer")).estimate("L1 (left)", "inductance")
    u = before.standard_uncertainty
    assert there.value == pytest.approx(before.value, abs=0.05 * u)
    assert there.standard_uncertainty == pytest.approx(u, rel=0.05)


def test_and_back_again(book: Notebook) -> None:
    before = book.plain("coil")
    code = book.label("coil", "L1")
    book.put_away("coil", "L1")
    assert book.part_of(code).moved_to == ("drawer", "L1 (coil)")
    book.take_from_drawer("L1 (coil)", "coil", "L9")
    assert book.part_of(code).moved_to == ("coil", "L9")
    after = book.plain("coil")
    assert after["parts"]["L9"]["note"].startswith(f"from coil, L1, label {code}; from drawer, ")
    assert after["sources"] == before["sources"]
    assert list(named(book, "coil")) == ["reading 1 (coil)", "ohms (coil)"]
    assert {one["part"] for one in named(book, "coil").values()} == {"L9"}
    assert book.readings("drawer") == ()
    assert "parts" not in book.plain("drawer")
    old = ohmbook.settle(book.sheet("coil", 2)).estimate("L1", "inductance")
    new = ohmbook.settle(book.sheet("coil")).estimate("L9", "inductance")
    assert new.value == pytest.approx(old.value, abs=0.05 * old.standard_uncertainty)
    book.undo()
    book.undo()
    assert book.plain("coil") == before
    assert book.boards() == ("left", "coil")


def test_what_is_taken_from_another_reading_is_written_out_once(book: Notebook) -> None:
    book.put_away("left", "L1")
    there = named(book, "drawer")
    assert list(there) == [
        "loaded (left)", "reading 2 (left)", "reading 3 (left)", "ohms (left)", "reading 5 (left)",
    ]  # fmt: skip
    assert there["reading 3 (left)"]["open"] == "@loaded (left)"
    assert there["reading 5 (left)"]["leads"] == "0.2 ohm"
    assert there["ohms (left)"]["struck"] == "leads not held"
    assert there["reading 3 (left)"]["source"] == "generator (left)"
    assert there["reading 5 (left)"]["instrument"] == "meter (left)"
    drawer = book.plain("drawer")
    assert set(drawer["sources"]) == {"generator (left)"}
    assert drawer["sources"]["generator (left)"]["open"] == "4.12 Vpp @ 1 V/div"
    assert set(drawer["instruments"]) == {"scope (left)", "meter (left)"}
    assert drawer["parts"]["L1 (left)"]["note"].startswith("the large one; from left, L1, label ")
    assert "loaded" in named(book, "left")


def test_what_refers_to_a_part_keeps_it_where_it_is_too(book: Notebook) -> None:
    for part, said in (
        ("L2", "reading 7 was taken on the board with it"),
        ("R1", "reading 5 takes a value from one of its readings; reading 7"),
        ("R2", "reading 8 refers to it"),
        ("woofer", "the sketch has it as an output"),
    ):
        before = book.plain("left")
        saved = book.put_away("left", part)
        assert saved.told.startswith(f"{part} stays on left as well: ")
        assert said in saved.told
        assert book.plain("left") == before
        assert f"{part} (left)" in book.plain("drawer")["parts"]
    assert "between" not in str(book.plain("drawer"))


def test_a_reading_that_waits_keeps_it_too(book: Notebook) -> None:
    book.take_in("waiting", WAITING)
    saved = book.put_away("waiting", "C1")
    assert "reading 3 waits to be filled in for it" in saved.told
    assert "C1" in book.plain("waiting")["parts"]


def test_a_drawn_part_leaves_the_sketch(tmp_path: Path) -> None:
    text = BENCH.split("[[readings]]")[0].replace("@loaded", "4 Vpp").replace('woofer = "w"\n', "")
    with Notebook.new(tmp_path / "x.ohmbook") as book:
        book.take_in("left", text)
        assert book.put_away("left", "woofer").told == ""
        assert book.put_away("left", "L2").told == ""
        left = book.plain("left")
        assert left["sketch"]["between"] == {"R1": ["w", "gnd"]}
        assert set(left["parts"]) == {"L1", "C1", "R1", "R2"}
        assert "between" not in str(book.plain("drawer"))


def test_a_stated_value_takes_its_readings_place(book: Notebook) -> None:
    book.put_away("left", "L1", value="0.812 mH ± 0.02 mH (k=2)", resistance="0.41 ohm ± 0.05 ohm")
    part = book.plain("drawer")["parts"]["L1 (left)"]
    assert (part["value"], part["resistance"]) == (
        "0.812 mH ± 0.02 mH (k=2)",
        "0.41 ohm ± 0.05 ohm",
    )
    there = named(book, "drawer")
    assert {name: one["struck"] for name, one in there.items()} == {
        "reading 3 (left)": COUNTED,
        "ohms (left)": "leads not held",
        "reading 5 (left)": COUNTED,
    }
    found = ohmbook.settle(book.sheet("drawer")).estimate("L1 (left)", "inductance")
    assert found.value == pytest.approx(0.812e-3, rel=1e-6)
    assert found.standard_uncertainty == pytest.approx(0.01e-3, rel=0.02)


def test_a_value_takes_the_place_of_what_a_part_is_made_of(book: Notebook) -> None:
    book.put_away("left", "C1", value="9.6 uF ± 1 %")
    part = book.plain("drawer")["parts"]["C1 (left)"]
    assert "made_of" not in part
    assert part["note"].endswith("made of 4.7 uF ± 5 %, 4.7 uF ± 5 %")
    book.put_away("left", "woofer", value="6.4 ohm")
    assert book.plain("drawer")["parts"]["woofer (left)"]["rated"] == "6.4 ohm"


def test_what_cannot_be_is_refused_and_nothing_written(book: Notebook) -> None:
    book.put_away("coil", "L1")
    count = len(book.history())
    calls: tuple[tuple[Callable[[], object], str], ...] = (
        (lambda: book.put_away("left", "L7"), 'no part "L7" on left; there are: L1, L2'),
        (lambda: book.put_away("right", "L1"), 'no board "right"'),
        (lambda: book.put_away("drawer", "L1 (coil)"), "is on drawer already"),
        (lambda: book.take_from_drawer("L1", "left", "L9"), 'no part "L1" on drawer'),
        (lambda: book.take_from_drawer("L1 (coil)", "right", "L9"), 'no board "right"'),
        (lambda: book.take_from_drawer("L1 (coil)", "left", "L1"), 'a part "L1" on left already'),
    )
    for call, said in calls:
        with pytest.raises(CallError, match=said):
            call()
    for value in ("0.8 uF", "much", ""):
        with pytest.raises(SheetError, match="expected an inductance"):
            book.put_away("left", "L1", value=value)
    with pytest.raises(CallError, match="cannot be a part's name: a dot"):
        book.take_from_drawer("L1 (coil)", "left", "L.9")
    assert len(book.history()) == count


def test_the_same_bench_reading_goes_only_once(book: Notebook) -> None:
    book.take_in(
        "two",
        BENCH.replace('kind = "amplitude ratio"\npart = "C1"\n', "").split(
            "[[readings]]\nfrequency"
        )[0],
    )
    book.put_away("two", "L1")
    book.write("write", "", [Change(Subject("two", READINGS, ""), {
        "kind": "amplitude ratio", "part": "C1", "frequency": "500 Hz", "across": "1.9 Vpp",
    })])  # fmt: skip
    book.put_away("two", "C1")
    kinds = [one.raw["kind"] for one in book.readings("drawer")]
    assert kinds.count("source loading") == 1
    assert kinds.count("generator off") == 1


def test_a_second_source_on_a_board_changes_no_reading_there(book: Notebook) -> None:
    book.add("coil", {"kind": "amplitude ratio", "part": "C1", "frequency": "600 Hz",
                      "across": "1 Vpp"})  # fmt: skip
    book.put_away("left", "L1")
    had = ohmbook.settle(book.sheet("coil"))
    book.take_from_drawer("L1 (left)", "coil", "L3")
    sheet = book.sheet("coil")
    assert set(sheet.sources) == {"generator", "generator (left)"}
    assert {one.source for one in sheet.readings if getattr(one, "part", "") in ("L1", "C1")} == {
        "generator",
        None,
    }
    now = ohmbook.settle(sheet)
    for part, quantity in (("L1", "inductance"), ("C1", "capacitance")):
        before, after = (one.estimate(part, quantity) for one in (had, now))
        u = before.standard_uncertainty
        assert after.value == pytest.approx(before.value, abs=0.05 * u)
        assert after.standard_uncertainty == pytest.approx(u, rel=0.05)


def test_parts_of_one_name_lie_beside_each_other(book: Notebook) -> None:
    book.put_away("left", "L1")
    book.put_away("coil", "L1")
    book.put_away("left", "R1")
    assert set(book.plain("drawer")["parts"]) == {"L1 (left)", "L1 (coil)", "R1 (left)"}
    with pytest.raises(CallError, match=r'R1 of left is in the drawer already, as "R1 \(left\)"'):
        book.put_away("left", "R1")  # it stayed on its board: one part is not two


def test_what_lies_in_the_drawer_can_be_measured_further(book: Notebook) -> None:
    book.put_away("coil", "L1")
    book.add("drawer", ohms("0.52 ohm", part="L1 (coil)", leads="0.2 ohm",
                            instrument="multimeter, nothing told of it"))  # fmt: skip
    assert len(book.readings("drawer")) == 3
    saved = book.put_away("left", "L1")
    assert saved.told == ""
    book.take_from_drawer("L1 (coil)", "left", "L1")
    assert len([one for one in book.sheet("left").readings if getattr(one, "part", 0) == "L1"]) == 3
