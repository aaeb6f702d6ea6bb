"""A board may be half drawn; a reading that lacks something is told what, and not written."""

from __future__ import annotations

from pathlib import Path

import pytest

from ohmbook.errors import OhmbookError
from ohmbook.notebook.notebook import Notebook
from tests.notebook.small import READING


def test_a_default_source_that_is_not_there_yet(tmp_path: Path) -> None:
    with Notebook.new(tmp_path / "b.ohmbook") as book:
        book.begin_board("left")
        book.put("left", 'defaults = { source = "generator" }\nparts.L1 = { kind = "inductor" }\n')
        with pytest.raises(OhmbookError, match=r'reading 1: its source is "generator", by \[defa'):
            book.add("left", READING)
        book.put("left", 'sources.generator = { resistance = "50 ohm ± 5 %", open = "4.12 Vpp" }')
        book.add("left", READING)
        assert len(book.readings("left")) == 1


def test_half_a_character_is_refused(tmp_path: Path) -> None:
    with Notebook.new(tmp_path / "b.ohmbook") as book:
        book.begin_board("left")
        book.put("left", 'parts.L1 = { kind = "inductor" }')
        with pytest.raises(OhmbookError, match="half a character stands in it, which cannot be"):
            book.add("left", {**_OHMS, "note": "\udc80"})
        assert book.history()[-1].id == 2
        book.check()


_OHMS = {"kind": "resistance", "part": "L1", "value": "0.5 ohm"}
