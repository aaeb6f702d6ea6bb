"""Sites: every place of a reading where a person wrote something, found by how it is declared.

A quantity, a cell of a table, a column's heading, a choice between words, the name of a node or a
part: all are found from the reading's own fields and from `MEANING` (what a field of a given name
refers to), so a new kind has its sites without saying anything. What a reading takes from
elsewhere (its source, its instrument, the reading or part it names) has sites as well.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, get_args, get_origin

from ohmbook.documents.fields import Document, ReadingName
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.documents.reference import MEANING, Key, references
from ohmbook.documents.table import Table
from ohmbook.errors import QuantityError
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity, Unit

Owner = tuple[Literal["readings", "sources", "instruments", "parts"], int | str]
What = Literal["quantity", "cell", "heading", "choice", "node", "column", "part", "done"]

_TEXT = re.compile(
    r"\s*(?P<sign>[+-]?)\s*(?P<number>\d*[.,]?\d+(?:[eE][+-]?\d+)?)\s*"
    r"(?P<word>[^\s\d±+@(]*(?: ?(?:pp|rms))?)\s*(?P<rest>.*)"
)
_WORD = re.compile(r"(?P<prefix>[pnuµμmkKMG]?)(?P<base>V|Hz|hz|HZ|[oO]hms?|Ω|H|F|A|W|s)(?P<end>.*)")


@dataclass(frozen=True, slots=True)
class Site:
    """One place where something stands.

    Args:
        owner: the document: ("readings", 3), ("sources", "generator").
        key: within it: ("frequency",), ("amplitudes", "w"), ("table", row, column); row 0 is the
            headings.
        what: what stands there; "done" is a part in a list of what was changed on the board, and
            "node" in a table's cell is the node under which the cell stands.
        text: as written; a cell with its column's unit.
        unit: of a quantity, cell or heading.
        others: what else could stand there: of a choice, a node, a part.
    """

    owner: Owner
    key: Key
    what: What
    text: str
    unit: Unit = "1"
    others: tuple[str, ...] = ()

    @property
    def field(self) -> str:
        """The field's name, which means the same in every kind."""
        return str(self.key[0])

    @property
    def row(self) -> int | None:
        """The row of a table, from 1; None elsewhere and for a heading."""
        return int(self.key[1]) if self.field_is_table and self.key[1] else None

    @property
    def field_is_table(self) -> bool:
        """Whether it stands in a table."""
        return self.what in ("cell", "heading", "column") or len(self.key) == 3


@dataclass(frozen=True, slots=True)
class Parts:
    """A written quantity taken apart: sign, number, unit word, and what follows (±, range)."""

    sign: str
    number: str
    word: str
    rest: str

    @classmethod
    def of(cls, text: str) -> Parts | None:
        """None where the text is not simply a number and a unit ("4k7")."""
        found = _TEXT.fullmatch(text)
        if found is None or (found["rest"] and found["rest"][0] not in "±+@("):
            return None
        return cls(found["sign"], found["number"], found["word"], found["rest"])

    def text(self, number: str | None = None, word: str | None = None) -> str:
        """Together again, with another number or another unit word."""
        unit = self.word if word is None else word
        spaced = f"{self.sign}{self.number if number is None else number} {unit}".strip()
        return f"{spaced} {self.rest}".strip()


def unit_word(word: str) -> tuple[str, str, str] | None:
    """Prefix, unit and convention of a unit word; None where it is none that has a prefix."""
    found = _WORD.fullmatch(word.replace(" ", ""))
    return None if found is None else (found["prefix"], found["base"], found["end"])


def neighbours(sheet: Sheet, node: str) -> tuple[str, ...]:
    """Nodes that a part of the board joins to a node."""
    found: dict[str, None] = {}
    for part in sheet.parts.values():
        if part.between is not None and node in part.between:
            found.update(dict.fromkeys(other for other in part.between if other != node))
    return tuple(found)


def sites(sheet: Sheet, owner: Owner) -> tuple[Site, ...]:
    """Every site of one document."""
    document = _document(sheet, owner)
    return tuple(
        found
        for field in type(document).model_fields
        if field not in ("kind", "name", "note", "date", "struck")
        for found in _in_field(sheet, owner, document, field)
    )


def referred(sheet: Sheet, number: int) -> tuple[Owner, ...]:
    """What a reading takes from elsewhere: source, instrument, readings and parts it names."""
    reading = sheet.readings[number]
    owners: dict[Owner, None] = {}
    taken = [ref for ref in references(reading) if ref.noun in ("source", "instrument", "reading")]
    names = {ref.name for ref in taken if ref.noun == "reading"}
    source = sheet.sources.get(reading.source or "")
    if source is not None:
        owners[("sources", reading.source or "")] = None
        names |= {source.open[1:]} if isinstance(source.open, ReadingName) else set()
    if reading.instrument in sheet.instruments:
        owners[("instruments", reading.instrument or "")] = None
    for k, other in enumerate(sheet.readings):
        if other.name in names and other is not reading:
            owners[("readings", k)] = None
    return tuple(owners)


def _document(sheet: Sheet, owner: Owner) -> Document:
    group, key = owner
    if group == "readings":
        return sheet.readings[int(key)]
    held: dict[str, Document] = dict(getattr(sheet, group))
    return held[str(key)]


def _in_field(sheet: Sheet, owner: Owner, document: Document, field: str) -> Iterator[Site]:
    value = getattr(document, field)
    if isinstance(value, Table):
        yield from _in_table(sheet, owner, field, value)
    elif isinstance(value, dict):
        for name, held in value.items():
            yield from _held(
                sheet, owner, (field, name), held if isinstance(held, Quantity) else ""
            )
            yield from _held(sheet, owner, (field, name), name)
    elif isinstance(value, tuple | list):
        for index, held in enumerate(value):
            yield from _held(sheet, owner, (field, index), held)
    else:
        yield from _choice(owner, document, field)
        yield from _held(sheet, owner, (field,), value)


def _held(sheet: Sheet, owner: Owner, key: Key, held: object) -> Iterator[Site]:
    """A quantity or a name; nothing else is a site."""
    if isinstance(held, Quantity):
        yield Site(owner, key, "quantity", held.text, held.unit)
    elif isinstance(held, str):
        yield from _named(sheet, owner, key, held)


def _choice(owner: Owner, document: Document, field: str) -> Iterator[Site]:
    words = _literals(type(document).model_fields[field].annotation)
    value = getattr(document, field)
    others = tuple(str(word) for word in words if word != value)
    if value in words and others:
        yield Site(owner, (field,), "choice", str(value), others=others)


def _literals(annotation: object) -> tuple[object, ...]:
    if get_origin(annotation) is Literal:
        return get_args(annotation)
    return tuple(word for one in get_args(annotation) for word in _literals(one))


def _named(sheet: Sheet, owner: Owner, key: Key, name: str) -> Iterator[Site]:
    noun = MEANING.get(str(key[0]))
    if noun == "node":
        others = neighbours(sheet, name)
        if others:
            yield Site(owner, key, "node", name, others=others)
    elif noun in ("part", "part end") and len(key) > 1:
        yield Site(owner, key, "done", name)
    elif noun == "part" and name in sheet.parts:
        kind = sheet.parts[name].kind
        same = [k for k, part in sheet.parts.items() if part.kind == kind and k != name]
        if same:
            yield Site(owner, key, "part", name, others=tuple(same))


def _in_table(sheet: Sheet, owner: Owner, field: str, table: Table) -> Iterator[Site]:
    units = [_unit(column.unit_text) for column in table.columns]
    for k, column in enumerate(table.columns):
        yield Site(owner, (field, 0, k), "heading", column.unit_text, units[k])
        others = neighbours(sheet, column.name)
        if others:
            yield Site(owner, (field, 0, k), "column", column.name, others=others)
        for number, row in enumerate(table.rows, 1):
            cell = row.cells[k]
            if cell is not None:
                text = column.quantity_text(cell)
                yield Site(owner, (field, number, k), "cell", text, units[k])
                if others:
                    key = (field, number, k)
                    yield Site(owner, key, "node", column.name, others=others)


def _unit(word: str) -> Unit:
    units: tuple[Unit, ...] = ("V", "Hz", "ohm", "H", "F", "A", "s", "deg")
    for unit in units:
        try:
            parse_quantity(f"1 {word}", unit)
        except QuantityError:
            continue
        return unit
    return "1"


def only_row(reading: ReadingBase, row: int | None) -> ReadingBase:
    """A reading with one row of its tables, counted from 1; the reading itself where None."""
    if row is None:
        return reading
    cut = {
        field: replace(table, rows=(table.rows[row - 1],))
        for field in type(reading).model_fields
        if isinstance(table := getattr(reading, field), Table)
    }
    return reading.model_copy(update=cut)
