"""Every kind of reading is held to the contract, with something hostile and something published."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from ohmbook.bench.kinds import KINDS
from tests.bench import (
    test_kinds_contract,
    test_methods,
    test_methods_by_step,
    test_methods_in_series,
    test_methods_of_drivers,
    test_methods_that_ring,
    test_sweep,
)
from tests.bench.method_contract import MethodContract

FILES = (
    test_kinds_contract,
    test_methods,
    test_methods_by_step,
    test_methods_in_series,
    test_methods_of_drivers,
    test_methods_that_ring,
    test_sweep,
)
PUBLISHED_ELSEWHERE = test_kinds_contract
"""The first kinds' published values are in test_check_values.py."""


def contracts() -> Iterator[tuple[object, type[MethodContract]]]:
    for file in FILES:
        for one in vars(file).values():
            if isinstance(one, type) and issubclass(one, MethodContract) and one.kind:
                yield file, one


def test_every_kind_is_held_to_the_contract() -> None:
    kinds = {get_args(one.model_fields["kind"].annotation)[0] for one in KINDS}
    assert {one.kind for _, one in contracts()} == kinds
    assert all(one.hostile for _, one in contracts())


def test_every_further_kind_has_a_published_or_closed_form_value() -> None:
    further = [one for file, one in contracts() if file is not PUBLISHED_ELSEWHERE]
    with_source = {one.kind for one in further if one.source}
    assert with_source == {one.kind for one in further}
    for one in further:
        assert bool(one.source) == (one.published is not MethodContract.published)
