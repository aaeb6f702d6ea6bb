"""The base of every reading, and the sheet that holds them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date as Date

from ohmbook.documents.fields import Document
from ohmbook.documents.part import Defaults, Instrument, Part, Sketch, Source


class ReadingBase(Document):
    """What every reading may have. `name` is filled in ("reading 3") when a sheet is read.

    `struck` says why a reading is kept but does not count.
    """

    kind: str
    name: str = ""
    note: str | None = None
    date: Date | str | None = None
    struck: str | None = None
    source: str | None = None
    instrument: str | None = None


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
    to where they stand. `text` is the source text, kept as it was.
    """

    title: str = ""
    defaults: Defaults = field(default_factory=Defaults)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    sketch: Sketch | None = None
    readings: tuple[ReadingBase, ...] = ()
    places: dict[tuple[str, str], Place] = field(default_factory=dict)
    file: str = "sheet"
    text: str = ""
