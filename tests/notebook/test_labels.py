"""Labels: permanent, unique, and a slip in typing one is always found."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ohmbook.errors import CallError
from ohmbook.notebook.change import Change
from ohmbook.notebook.ink import PARTS, Subject
from ohmbook.notebook.labels import SIGNS, code_of, number_of
from ohmbook.notebook.notebook import Notebook
from tests.notebook.books import COIL


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Notebook]:
    with Notebook.new(tmp_path / "bench.ohmbook", who="tester") as made:
        made.take_in("left", COIL)
        made.take_in("right", COIL)
        yield made


def test_31_signs_that_cannot_be_taken_for_one_another() -> None:
    assert len(SIGNS) == len(set(SIGNS)) == 31
    assert not set(SIGNS) & set("ILO01")
    assert all(31 % k for k in range(2, 31))


def one_wrong(code: str) -> Iterator[str]:
    """Every code that differs in one sign."""
    for k, right in enumerate(code):
        for sign in SIGNS:
            if sign != right:
                yield code[:k] + sign + code[k + 1 :]


def swapped(code: str) -> Iterator[str]:
    """Every code in which two different neighbours have changed places."""
    for k in range(len(code) - 1):
        if code[k] != code[k + 1]:
            yield code[:k] + code[k + 1] + code[k] + code[k + 2 :]


def test_every_wrong_sign_and_every_swap_is_found() -> None:
    """All of them, for 699 numbers of four signs and 210 of five: some 118,000 slips."""
    slips = 0
    for number in (*range(1, 500), *range(29_591, 29_941), *range(923_521 - 60, 923_521)):
        code = code_of(number)
        for slip in (*one_wrong(code), *swapped(code)):
            assert number_of(slip) is None, f"{slip} for {code}"
            slips += 1
    assert slips > 115_000


def test_no_two_numbers_have_one_code_and_each_leads_back() -> None:
    codes = [code_of(number) for number in range(1, 29_791)]
    assert len(set(codes)) == len(codes)
    assert {len(one) for one in codes} == {4}
    assert [number_of(one) for one in codes] == list(range(1, 29_791))
    assert (len(code_of(29_791)), len(code_of(923_520)), len(code_of(923_521))) == (5, 5, 6)


@given(st.integers(1, 10**9))
def test_any_number_leads_back(number: int) -> None:
    assert number_of(code_of(number)) == number


@given(st.text(max_size=8) | st.text(SIGNS, max_size=8))
def test_any_text_is_a_code_or_none(text: str) -> None:
    number = number_of(text)
    assert number is None or code_of(number) == "".join(text.upper().replace("-", "").split())


def test_parts_have_codes_of_their_own_for_good(book: Notebook) -> None:
    left, right = book.labels("left"), book.labels("right")
    assert set(left) == {"L1", "C1"}
    assert len({*left.values(), *right.values()}) == 4
    text = {"kind": "inductor", "value": "0.8 mH"}
    book.write("write", "L1 on left", [Change(Subject("left", PARTS, "L1"), text)])
    book.take_out("right", "parts", "C1")
    book.undo()
    assert (book.labels("left"), book.labels("right")) == (left, right)
    for part, code in left.items():
        found = book.part_of(f" {code[:2].lower()}-{code[2:].lower()} ")
        assert (found.code, found.board, found.part, found.there) == (code, "left", part, True)


def test_a_label_outlives_the_part(book: Notebook) -> None:
    code = book.label("left", "C1")
    book.take_out("left", "parts", "C1")
    found = book.part_of(code)
    assert (found.part, found.there, found.moved_to) == ("C1", False, None)
    assert "C1" not in book.labels("left")


def test_a_mistyped_label_is_told_with_the_one_that_was_meant(book: Notebook) -> None:
    code = book.label("right", "L1")
    for slip in (*one_wrong(code), *swapped(code)):
        with pytest.raises(CallError, match=rf"it is mistyped. Did you mean {code} \(L1 of right"):
            book.part_of(slip)


def test_what_is_no_label_is_told(book: Notebook) -> None:
    with pytest.raises(CallError, match="four signs or more, and no 0, 1, I, L or O"):
        book.part_of("0001")
    with pytest.raises(CallError, match="is from another notebook"):
        book.part_of(code_of(900))
    with pytest.raises(CallError, match="is from another notebook"):
        book.part_of(code_of(1))  # an entry, but no part's
    with pytest.raises(CallError, match='no part "L7" on left'):
        book.label("left", "L7")
