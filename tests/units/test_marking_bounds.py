"""What every marking must keep to, whatever is written: no crash, honest sums, little time."""

from __future__ import annotations

import math
import subprocess
import sys
import time

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from ohmbook.errors import MarkingError
from ohmbook.units.marking import PartKindName, believed, meanings

FRAGMENTS = [
    "10", "4.7", "0,47", ".47", "104", "1001", "8712", "01A", "R47", "4K7", "2A", "K", "J", "M",
    "uF", "mH", "ohm", "Ω", "µ", "50V", "5W", "V", "W", "%", "±", "5%", "-20+80%", "BP", "NP",
    "red", "gold", "brown black", "coil", "L=", "VAC", "~", " ", " ", "/", "-", ",", ".", "0",
]  # fmt: skip
KINDS = st.sampled_from([None, "inductor", "capacitor", "resistor"])
TYPICAL = [
    "0.82", "150", "R47M", "3.3K 100V", "10uF 50V BP", "4.7J250", "5W 2R7J", "8 ohm 10W 5%",
    "1,000 µF 63V", "brown black black gold brown", "0,47µF ±5% 250V~ MKP", "47uF -20/+80% 50V",
    "ACME 2.2uF 5% 400VDC MKP 0398", "0.011 µH", "01A", "100K", "8712", "nothing at all",
]  # fmt: skip


def check(text: str, kind: PartKindName | None) -> None:
    """Meanings or a MarkingError; and every meaning is one that can be used."""
    try:
        found = meanings(text, kind)
    except MarkingError:
        return
    assert sum(one.probability for one in found) <= 1 + 1e-12
    assert [one.probability for one in found] == sorted(
        (one.probability for one in found), reverse=True
    )
    for one in found:
        assert kind in (None, one.kind)
        assert 0 < one.value < math.inf
        assert 0 < one.probability <= 1
        assert one.reading
        assert all(one.reasons)
        assert 0 < believed(one).u_log < math.inf
        assert math.isfinite(believed(one).centre_log)


@given(st.text(max_size=50), KINDS)
@example("\ud800", None)
@example("½", None)
@example("9" * 40, None)
@example("0/0W 1", None)
def test_no_text_crashes(text: str, kind: PartKindName | None) -> None:
    check(text, kind)


@given(st.lists(st.sampled_from(FRAGMENTS), max_size=12).map("".join), KINDS)
def test_no_heap_of_fragments_crashes(text: str, kind: PartKindName | None) -> None:
    check(text, kind)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "it is empty"),
        ("   ", "it is empty"),
        ("\t\n", "it is empty"),
        ("4" * 41, "it has 41 characters, and at most 40 are read"),
        ("10\x00uF", "it holds a control character"),
        ("10\tuF", "it holds a control character"),
        ("10\x1b[31muF", "it holds a control character"),
        ("10\u200buF", "it holds a control character"),
    ],
)
def test_what_is_no_marking_is_refused(text: str, why: str) -> None:
    with pytest.raises(MarkingError, match=why) as caught:
        meanings(text)
    assert str(caught.value).startswith('Marking "')
    assert str(caught.value).isprintable()


def test_forty_characters_are_read_and_space_around_does_not_count() -> None:
    text = "10uF 50V".ljust(39) + "J"
    assert len(text) == 40
    assert meanings(f"  {text}  ")[0].tolerance == 0.05


@pytest.mark.parametrize("text", ["?", "ACME", "woofer", "0", "0.0", "000", "V", "100V", "5 W", "K",
                                  "1.2.3", "red", "--", "0R"])  # fmt: skip
def test_what_means_nothing_has_no_meanings(text: str) -> None:
    assert meanings(text) == ()


def test_something_else_is_left_over_where_digits_stand_alone() -> None:
    """The more a marking says, the less it can be something else."""
    left = [1 - sum(one.probability for one in meanings(text, "capacitor"))
            for text in ("47", "47J 100V", "47u", "47 uF")]  # fmt: skip
    assert left == sorted(left, reverse=True)
    assert left[0] > 0.02
    assert left[-1] < 0.002


@pytest.mark.parametrize("text", TYPICAL)
def test_a_marking_takes_less_than_two_milliseconds(text: str) -> None:
    meanings(text)  # the preferred series are made once
    took = []
    for _ in range(7):
        start = time.perf_counter()
        meanings(text)
        took.append(time.perf_counter() - start)
    assert min(took) < 2e-3


def test_importing_needs_no_numpy() -> None:
    code = "import sys, ohmbook.units.marking; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
