"""Sheets of every further method with one number changed: an answer or one clear error, nothing
else; and no NaN in what is answered."""

from __future__ import annotations

import json
import random
import re

import pytest

from ohmbook.errors import OhmbookError
from ohmbook.job import settle
from ohmbook.sheet.read import read_sheet
from tests.bench.test_every_kind import PUBLISHED_ELSEWHERE, contracts

_NUMBER = re.compile(r"(?<![\w.])\d+\.?\d*(?![\w.]| %)")
_FACTORS = (1e-6, 1e-3, 0.1, 0.5, 1.3, 10.0, 1e3, 1e6, 0.0, -1.0)
METHODS = [one for file, one in contracts() if file is not PUBLISHED_ELSEWHERE]
SEED, EACH = 20261125, 3


@pytest.mark.parametrize("method", METHODS, ids=lambda one: str(one.__name__))
def test_one_number_changed_never_breaks_anything(method: type) -> None:
    text = method().text()
    choose = random.Random(f"{SEED} {method.__name__}")
    for _ in range(EACH):
        found = choose.choice(list(_NUMBER.finditer(text)))
        value = float(found.group()) * choose.choice(_FACTORS)
        changed = f"{text[: found.start()]}{value:.10g}{text[found.end() :]}"
        try:
            settled = settle(read_sheet(text=changed))
        except OhmbookError:
            continue
        json.dumps(settled.document(), allow_nan=False)
        settled.workings()
