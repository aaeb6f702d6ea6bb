"""Tables and references, as the documents themselves see them."""

from __future__ import annotations

from typing import Literal

import pytest
from pydantic import Field, ValidationError

from ohmbook.documents.fields import GATHER, OhmsOrPart, PartName, Written, written_of
from ohmbook.documents.part import Resistor
from ohmbook.documents.reading import ReadingBase
from ohmbook.documents.reference import Reference
from ohmbook.documents.table import Column, read_table, row_offsets
from ohmbook.errors import QuantityError, TableError
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity


class Jig(ReadingBase):
    kind: Literal["jig"] = "jig"
    at: str | tuple[str, str] = "in"
    between: tuple[str, str] | None = None
    added: dict[str, tuple[str, str]] = Field(default_factory=dict)
    instead: dict[str, OhmsOrPart] = Field(default_factory=dict)
    lifted: tuple[str, ...] = ()
    load: OhmsOrPart | None = None


def _refs(**fields: object) -> list[tuple[str, str]]:
    jig = Jig.model_validate({"name": "x", **fields})
    return [(ref.noun, ref.name) for ref in jig.references() if ref.key != ("at",)]


def test_a_field_s_name_says_what_its_texts_name() -> None:
    assert _refs(between=["a", "b"]) == [("node", "a"), ("node", "b")]
    assert _refs(lifted=["C1.2"]) == [("part end", "C1.2")]
    assert _refs(added={"R9": ["w", "gnd"]}) == [("part", "R9"), ("node", "w"), ("node", "gnd")]
    assert _refs(instead={"woofer": "8 ohm", "tweeter": "R8"}) == [
        ("part", "woofer"),
        ("part", "tweeter"),
        ("part", "R8"),
    ]
    assert _refs(source="g", instrument="s") == [("source", "g"), ("instrument", "s")]
    assert _refs(note="@nobody", struck="@nobody") == []
    assert Jig(at=("a", "b")).references() == (
        Reference(("at", 0), "node", "a"),
        Reference(("at", 1), "node", "b"),
    )


def test_a_text_that_begins_with_a_letter_names_a_part_and_is_never_a_quantity() -> None:
    # IEC 60062 reads "R7" as 0.7 ohm; a mistyped name must not turn into that.
    assert parse_quantity("R7", "ohm").value == 0.7
    assert isinstance(Jig.model_validate({"load": "R7"}).load, PartName)
    assert isinstance(Jig.model_validate({"load": "0R7"}).load, Quantity)


def test_a_document_made_in_code_raises_the_quantity_s_own_error() -> None:
    with pytest.raises(QuantityError):
        Resistor.model_validate({"kind": "resistor", "value": "3 mH"})
    with pytest.raises(ValidationError):
        Resistor.model_validate({"kind": "resistor", "value": "3 mH"}, context=GATHER)


def test_documents_hold_the_quantities_they_are_given() -> None:
    made = Resistor(kind="resistor", value=parse_quantity("3 ohm", "ohm"))
    assert made == Resistor.model_validate({"kind": "resistor", "value": "3 ohm"})


def test_a_field_says_how_it_is_written() -> None:
    assert written_of(Jig.model_fields["load"]) == Written('"47.2 ohm ± 0.5 %"', "ohm")
    assert written_of(Jig.model_fields["at"]) is None


def test_a_table_of_words() -> None:
    table = read_table("\n# late\nfrequency/kHz  w/Vpp@50mV/div  w/deg\n\n0,10  -  -22\n 3 .5 1e1")
    assert table.columns == (
        Column("frequency", "kHz"),
        Column("w", "Vpp", "50mV/div"),
        Column("w", "deg"),
    )
    assert [(row.line_offset, row.cells) for row in table.rows] == [
        (4, ("0,10", None, "-22")),
        (5, ("3", ".5", "1e1")),
    ]
    assert row_offsets(table.text) == (2, 4, 5)


def test_a_cell_becomes_a_quantity_with_the_range_of_its_column() -> None:
    column = Column("w", "Vpp", "50mV/div")
    assert column.heading == "w/Vpp@50mV/div"
    read = parse_quantity(column.quantity_text("0.34"), "V")
    assert (read.value, read.convention, read.per_division) == (0.34, "pp", 0.05)


@pytest.mark.parametrize(
    ("text", "row", "column", "words"),
    [
        ("", 0, "", "empty"),
        ("# only a remark\n", 0, "", "empty"),
        ("a/V b/V", 0, "", "no rows"),
        ("a b/V\n1 2", 0, "a", "no unit"),
        ("/V b/V\n1 2", 0, "/V", "no unit"),
        ("a/ b/V\n1 2", 0, "a/", "no unit"),
        ("a/V a/V\n1 2", 0, "a/V", "twice"),
        ("a/V b/V\n1 2\n1", 2, "b/V", "1 of 2 columns"),
        ("a/V b/V\n1 2 3", 1, "3", "under no heading"),
        ("a/V b/V\n1 inf", 1, "b/V", "inf"),
        ("a/V b/V\n1 5%", 1, "b/V", "plain number"),
        ("a/V b/V\n1 4k7", 1, "b/V", "plain number"),
        ("a/V b/V\n1 1,234", 1, "b/V", "1.234"),
        ("a/V b/V\n1 --", 1, "b/V", "plain number"),
    ],
)
def test_what_is_wrong_with_a_table(text: str, row: int, column: str, words: str) -> None:
    with pytest.raises(TableError, match=words) as caught:
        read_table(text)
    assert (caught.value.row, caught.value.column) == (row, column)
