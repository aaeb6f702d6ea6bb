"""The base of every reading, and the sheet that holds them."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Annotated, ClassVar

from pydantic import Strict

from ohmbook.documents.fields import Document
from ohmbook.documents.part import Defaults, Instrument, Part, Sketch, Source
from ohmbook.documents.reference import Key, Reference, references


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong in a sheet, and at which key; the sheet reader finds the line.

    Args:
        key: from the reading down in a reading's own `check` (`("across",)`), from the sheet down
            elsewhere (`("parts", "L1", "value")`).
        message: what was found and what was expected.
        row: of a table, from 1 below the headings; 0 is the headings.
        column: the heading as written.
    """

    key: Key
    message: str
    row: int | None = None
    column: str | None = None


class ReadingBase(Document):
    """What every reading may have. `name` is filled in ("reading 3") when a sheet is read.

    `struck` says why a reading is kept but does not count. When a sheet is read, `source` and
    `instrument` are filled in from the defaults, or from the only one there is, as far as the kind
    uses them: `uses_source`, and `instrument_kinds` (which kinds of instrument can take it).
    """

    uses_source: ClassVar[bool] = True
    instrument_kinds: ClassVar[tuple[str, ...]] = ("oscilloscope",)

    kind: str
    name: str = ""
    note: str | None = None
    date: Annotated[datetime.date, Strict()] | str | None = None
    struck: str | None = None
    source: str | None = None
    instrument: str | None = None

    def references(self) -> tuple[Reference, ...]:
        """Every name in the reading that must exist elsewhere in the sheet."""
        return references(self)

    def check(self, sheet: Sheet) -> Iterable[Problem]:  # noqa: ARG002
        """What only the kind itself can see is wrong; every reference has been checked before."""
        return ()


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands in its file: line from 1, or None."""

    file: str
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One measurement problem, as a person wrote it; every reference in it has been checked.

    `parts` have their nodes filled in from `[sketch.between]`. `readings` are instances of the
    bench's reading kinds. `places` maps ("readings", "reading 2"), ("parts", "L1") and the like
    to where they stand. `waiting` names the readings that a plan still asks for ("?" stands in
    them): they are not among the readings. `text` is the source text, kept as it was. Two sheets
    are equal when they say the same, wherever it stands.
    """

    title: str = ""
    defaults: Defaults = field(default_factory=Defaults)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    sketch: Sketch | None = None
    readings: tuple[ReadingBase, ...] = ()
    places: dict[tuple[str, str], Place] = field(default_factory=dict, compare=False)
    file: str = field(default="sheet", compare=False)
    waiting: tuple[str, ...] = field(default=(), compare=False)
    text: str = field(default="", compare=False)
