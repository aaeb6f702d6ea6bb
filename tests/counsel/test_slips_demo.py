"""Slips on the demo's board: the mistake is named with its odds, and nothing is changed."""

from __future__ import annotations

from importlib.resources import files

import pytest

import ohmbook
from ohmbook.documents.finding import Finding

BOARD = (files("ohmbook.demo") / "board.toml").read_text(encoding="utf-8")


def slips(text: str) -> list[Finding]:
    """The slips that settling a sheet tells."""
    settled = ohmbook.settle(ohmbook.read_sheet(text=text))
    return [one for one in settled.findings if one.kind == "slip"]


@pytest.mark.parametrize(
    ("right", "wrong", "what"),
    [
        ("2000       788", "2000       878", "two digits swapped"),
        ("2.6                 724", "26                  724", "the decimal point one place off"),
        ("1128       776", "1128       77.6", "10x"),
        ("1.2                 652", "1.2               652000", "prefix"),
    ],
)
def test_the_mistake_is_named(right: str, wrong: str, what: str) -> None:
    assert right in BOARD
    found = slips(BOARD.replace(right, wrong))
    assert len(found) == 1
    first = found[0].explanations[0]
    assert what in first.what
    assert (first.probability or 0.0) > 0.9
    assert first.change
    assert "Nothing was changed" in found[0].message
    assert sum(one.probability or 0.0 for one in found[0].explanations) == pytest.approx(
        1.0, abs=0.02
    )


def test_a_mistake_in_the_frequency_does_not_put_the_sketch_in_doubt() -> None:
    text = BOARD.replace("2.6                 724", "26                  724")
    settled = ohmbook.settle(ohmbook.read_sheet(text=text))
    assert [one.kind for one in settled.findings].count("slip") == 1
    assert all(one.kind != "sketch doubt" for one in settled.findings)
    whole = ohmbook.settle(ohmbook.read_sheet(text=BOARD))
    for one, other in zip(settled.estimates, whole.estimates, strict=True):
        if other.determined and one.determined:
            assert one.low <= other.high
            assert other.low <= one.high


def test_a_sheet_without_mistakes_tells_none() -> None:
    assert slips(BOARD) == []


def test_a_slip_is_looked_for_in_a_reading_that_takes_its_leads_from_another() -> None:
    further = """
[[readings]]
kind = "resistance"
between = ["a", "b"]
detached = ["woofer", "tweeter"]
leads = "@reading 4"
value = "45 ohm"                            # a plan's own form, and too much by far
"""
    found = slips(BOARD + further)
    assert len(found) == 1
    assert found[0].message.startswith("reading 6")
