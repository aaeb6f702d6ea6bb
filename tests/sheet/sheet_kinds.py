"""Throw-away reading kinds: the sheet knows a kind only from the tuple it is given."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from pydantic import Field, field_validator, model_validator

from ohmbook.documents.fields import OhmsOrPart, TableText, VoltsOrReading
from ohmbook.documents.reading import Problem, ReadingBase, Sheet
from ohmbook.documents.table import read_table
from ohmbook.errors import QuantityError


class Weighing(ReadingBase):
    """Fields of every sort that a kind may use."""

    uses_source: ClassVar[bool] = False
    instrument_kinds: ClassVar[tuple[str, ...]] = ()

    kind: Literal["weighing"]
    part: str
    grams: float = Field(gt=0.0, le=5000.0)
    count: int = Field(default=1, ge=1, lt=100)
    dry: bool = False
    marks: tuple[str, ...] = ()
    shares: dict[str, float] = Field(default_factory=dict)
    side: Literal["left", "right"] = "left"
    turns: Literal[2, 4] = 2
    code: str = Field(default="ab", min_length=2, pattern="^[a-z]+$")
    against: OhmsOrPart | None = None

    @field_validator("marks")
    @classmethod
    def _few(cls, marks: tuple[str, ...]) -> tuple[str, ...]:
        if len(marks) > 2:
            raise ValueError("three marks are one too many; expected two at most.")
        return marks

    @model_validator(mode="after")
    def _left_is_light(self) -> Weighing:
        assert self.side == "right" or self.grams < 1000.0, "left is for light parts"
        return self

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        if self.count > 9:
            yield Problem(("count",), f"nobody has {self.count} of {self.part}; expected up to 9")
        if self.note == "raise":
            raise QuantityError("x", "another note", "this note raises")


class Logbook(ReadingBase):
    """A table, and an amplitude that may be taken from another reading."""

    kind: Literal["logbook"]
    open: VoltsOrReading | None = None
    table: TableText

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        for number, row in enumerate(self.table.rows, 1):
            if row.cells[-1] == "0.99":
                heading = self.table.columns[-1].heading
                yield Problem(("table",), "0.99 is never read here", number, heading)


class Rawbook(ReadingBase):
    """A kind whose own validator lets an error of ours through."""

    kind: Literal["rawbook"]
    table: str

    @field_validator("table")
    @classmethod
    def _split(cls, table: str) -> str:
        read_table(table)
        return table


KINDS: tuple[type[ReadingBase], ...] = (Weighing, Logbook, Rawbook)


def weighing(**changed: Any) -> str:
    """A sheet with one weighing, some of its keys written otherwise (as TOML)."""
    keys: dict[str, Any] = {"kind": '"weighing"', "part": '"L1"', "grams": "120", **changed}
    lines = [f"{key} = {value}" for key, value in keys.items()]
    return "\n".join(['[parts]\nL1 = { kind = "inductor" }\n[sources.g]\n[[readings]]', *lines, ""])
