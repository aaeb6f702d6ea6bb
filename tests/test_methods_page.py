"""docs/methods.md lists every kind of reading, each with all it must say, and no other."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

from ohmbook.bench.kinds import KINDS

PAGE = Path(__file__).parent.parent / "docs" / "methods.md"
COLUMNS = 6


def rows() -> list[list[str]]:
    lines = [one for one in PAGE.read_text(encoding="utf-8").splitlines() if one.startswith("| `")]
    return [
        [cell.strip() for cell in one.replace("\\|", "/").strip("|").split("|")] for one in lines
    ]


def test_the_page_lists_every_kind_in_order() -> None:
    kinds = [get_args(one.model_fields["kind"].annotation)[0] for one in KINDS]
    assert [row[0].strip("`") for row in rows()] == kinds


def test_every_row_says_all_of_it() -> None:
    for row in rows():
        assert len(row) == COLUMNS
        assert all(row)
