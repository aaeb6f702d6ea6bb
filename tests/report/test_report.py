"""The printed report, piece by piece. Wording has no outside source; the numbers are made up."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import pytest

from ohmbook.documents.estimate import CauseShare, Consistency, Estimate, Implied
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.report.agreement import agreement_sentence
from ohmbook.report.budget import (
    budget_table,
    cancelling,
    doubt_sentences,
    part_lines,
    shares_table,
)
from ohmbook.report.cautions import all_cautions, cautions_block, set_ups_list
from ohmbook.report.estimates import estimates_table
from ohmbook.report.findings import findings_list, urgent_list
from ohmbook.report.next import next_forms, next_page
from ohmbook.report.single import Single, single_page
from ohmbook.report.words import HEADINGS, chance, how_well, listed, percent
from ohmbook.report.workings import implied_table, workings_list

from .made_up import (
    ASSUMED,
    BUDGET,
    ESTIMATES,
    FINDINGS,
    SET_UPS,
    SLIP,
    WORKING,
    printed,
)


def test_a_value_stands_with_its_interval_its_spread_and_its_ground() -> None:
    lines = printed(estimates_table(ESTIMATES)).splitlines()
    assert lines[0].split("  ")[0] == "part"
    assert "0.820 mH (0.797 to 0.844)" in lines[1]
    assert "±2.9 %" in lines[1]
    assert "12 readings, at 1.8 kHz" in lines[1]
    assert lines[2].startswith("  in series")


def test_what_is_not_determined_says_so() -> None:
    shown = printed(estimates_table(ESTIMATES), 120)
    told = next(line for line in shown.splitlines() if line.startswith("C1"))
    assert "hardly any reading" in told
    assert "factor 6.1" in told


def test_an_exact_value_has_no_interval() -> None:
    told = next(ln for ln in printed(estimates_table(ESTIMATES)).splitlines() if ln[:2] == "R1")
    assert "4.7 Ω" in told
    assert "to" not in told.split("exact")[0]


def test_on_a_narrow_screen_nothing_is_lost() -> None:
    wide, narrow = (printed(estimates_table(ESTIMATES), width) for width in (120, 36))
    for text in ("0.820 mH", "0.797 to 0.844", "12 readings", "hardly any reading"):
        assert text in wide
        assert text in " ".join(narrow.split())


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (0.98, 1.02, "±2.0 %"),
        (0.9995, 1.0005, "±0.050 %"),
        (0.5, 2.0, "factor 2.0"),
        (0.0, 2.0, "unknown"),
        (1.0, 1.0, "exact"),
    ],
)
def test_how_well_in_one_word(low: float, high: float, told: str) -> None:
    assert how_well(Estimate("R", "resistance", 1.0, 0.1, low, high, "ohm", True)) == told


def test_percent_chances_and_lists() -> None:
    assert chance(0.83) == "83 %"
    assert chance(0.9999) == "over 99 %"
    assert chance(1e-109) == "under 1 %"
    assert percent(0.1234) == "12 %"
    assert percent(1.0) == "100 %"
    assert percent(0.0) == "0 %"
    assert listed(["L1"]) == "L1"
    assert listed(["L1", "C1", "R1"]) == "L1, C1 and R1"


@pytest.mark.parametrize(
    ("p", "freedom", "begins"),
    [
        (0.37, 33.0, "Yes, within"),
        (0.02, 33.0, "Only just"),
        (1e-9, 33.0, "No:"),
        (0.9999, 33.0, "Yes, and more closely"),
        (None, 0.0, "That can't be told"),
        (0.9, 0.01, "That can't be told"),
    ],
)
def test_the_agreement_is_one_sentence(p: float | None, freedom: float, begins: str) -> None:
    told = agreement_sentence(Consistency(30.0, freedom, p))
    assert told.startswith(f"Do the readings agree? {begins}")


def test_findings_come_in_groups_the_gravest_first() -> None:
    first, rest = printed(urgent_list(FINDINGS)), printed(findings_list(FINDINGS))
    assert HEADINGS["slip"] in first
    assert "a decimal point: 0.34 V for 3.4 V (83 %)" in first
    assert HEADINGS["slip"] not in rest
    assert HEADINGS["assumption"] in rest
    assert "Discharge first" not in first + rest


def test_an_explanation_is_folded_under_itself() -> None:
    shown = printed(urgent_list(FINDINGS), 30).splitlines()
    first = next(k for k, line in enumerate(shown) if "* " in line)
    assert shown[first + 1].startswith(" " * (shown[first].index("*") + 2))


def test_a_marking_is_told_with_the_meanings_that_are_left() -> None:
    left = Explanation("0.33 mH: a number in µH", "value = 0.33 mH", 0.99)
    gone = Explanation("33 µH: three digits", "value = 33 µH", 1e-9)
    shown = printed(
        findings_list([Finding("marking", 'L2 is marked "330"', (), ("L2",), (left, gone))])
    )
    assert "0.33 mH: a number in µH (99 %)" in shown
    assert "three digits" not in shown
    plain = Finding("marking", 'R1 is marked "6R8"', (), ("R1",), (replace(left, what="R code"),))
    assert "R code" not in printed(findings_list([plain]))


def test_cautions_are_told_once_each() -> None:
    cautions = all_cautions(FINDINGS, SET_UPS)
    assert cautions == ("Discharge first.", "The ground clip is earth.")
    assert printed(cautions_block(cautions)).count("Discharge first.") == 1
    assert printed(cautions_block(())) == ""


def test_like_set_ups_are_told_together() -> None:
    shown = printed(set_ups_list(SET_UPS))
    assert shown.count("coil alone across generator") == 1
    assert "(reading 1, reading 2)" in shown
    assert "scope ground on com" in shown


def test_doubt_comes_with_its_remedy() -> None:
    assert doubt_sentences(BUDGET) == (
        "Biggest doubt: the generator's output resistance (93 % of it).",
        "Remedy: measure it",
    )
    assert doubt_sentences(()) == ()
    assert "4.0 % gain of scope" in printed(budget_table([("coil", BUDGET)], most=2))
    assert "step of scope" not in printed(budget_table([("coil", BUDGET)], most=2))


def test_a_working_has_its_steps_its_source_and_its_remark() -> None:
    lines = printed(workings_list([WORKING])).splitlines()
    assert lines[0] == "Inductance of coil (reading 1)"
    order = [" ".join(lines).index(text) for text in ("1. Half", "28.9 Ω", "2. Then", "no source")]
    assert order == sorted(order)


def test_implied_values_stand_beside_the_settled_one() -> None:
    rows = [
        Implied("reading 1", 8.2e-4, 8e-4, 8.4e-4),
        Implied("all", 8.2e-4, 8.1e-4, 8.3e-4, True),
    ]
    shown = printed(implied_table(rows, "H"))
    assert "reading 1" in shown
    assert "0.8200 mH (0.8100 to 0.8300)" in shown


def test_one_part_fits_one_screen_with_the_caution_before_the_set_up() -> None:
    single = Single([*ESTIMATES[:2], ESTIMATES[4]], BUDGET, FINDINGS, SET_UPS)
    shown = printed(single_page(single))
    assert len(shown.splitlines()) <= 24
    places = [
        shown.index(text) for text in ("L1: 0.820 mH", "Remedy:", "Good to", "Before", "How it was")
    ]
    assert places == sorted(places)
    assert "generator's output resistance: 50.49 Ω" in shown


def test_a_next_reading_is_a_form_to_fill_in() -> None:
    suggestion = {
        "reading": {"kind": "probe", "at": "in", "detached": ["woofer"], "frequency": "3 kHz"},
        "expected": {"amplitudes": {"w": "0.52 Vpp"}},
        "improves": {"L1": {"inductance": {"now": 0.021, "after": 0.011}}},
        "why": "It would halve the doubt in L1",
        "words": "Read w at 3 kHz",
    }
    shown = printed(next_page([suggestion]))
    assert "1. Read w at 3 kHz" in shown
    assert "w: ________ (should show about 0.52 Vpp)" in shown
    assert "It would halve the doubt in L1" in shown
    form = tomllib.loads(printed(next_forms([suggestion])).split("\n", 1)[1])
    assert form["readings"] == [suggestion["reading"]]
    assert "No further reading" in printed(next_page([]))


def test_square_brackets_in_a_person_s_text_are_printed_as_they_are() -> None:
    odd = replace(ASSUMED, message="scope [bold] said [/nonsense]")
    assert "scope [bold] said [/nonsense]" in printed(findings_list((odd, SLIP)))
    named = replace(ESTIMATES[0], name="L[1]")
    assert "L[1]" in printed(estimates_table((named,)))


def test_shares_on_a_narrow_screen_have_the_whole_width() -> None:
    shares = [
        CauseShare("what is believed of C2's series resistance", 1.16),
        CauseShare("L2", -0.16),
    ]
    shown = printed(shares_table([("tweeter 3 dB down, below (±0.56 %)", shares)]), 60)
    assert "116 % what is believed of C2's series resistance" in shown
    assert "-16 % L2" in shown
    (line,) = part_lines([("lowest", shares)])
    assert line == "lowest: what is believed of C2's series resistance 116 %, L2 -16 %"
    told = cancelling([shares])
    assert told is not None
    assert "better than each alone" in told
    assert cancelling([[CauseShare("C1", 1.0)]]) is None


def test_one_degree_of_freedom_is_told_in_the_singular() -> None:
    assert "1 degree of freedom," in agreement_sentence(Consistency(3.0, 1.0, 0.083))
