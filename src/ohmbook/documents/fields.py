"""Field types for the documents: a quantity written as text, checked against its unit.

A field that cannot be read raises its own OhmbookError when a document is made in code. The sheet
reader passes `GATHER` as validation context instead: then pydantic keeps the error with its place,
so that every fault of a sheet can be told with its line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from ohmbook.documents.table import Table, read_table
from ohmbook.errors import OhmbookError, QuantityError
from ohmbook.units.parse import parse_accuracy, parse_quantity
from ohmbook.units.quantity import Accuracy, Quantity, Unit

GATHER = {"gather": True}
TOLD = "ohmbook"  # the type of a pydantic error that carries one of ours in its context


class Document(BaseModel):
    """Base of all documents: frozen, and an unknown key is refused."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, allow_inf_nan=False
    )


@dataclass(frozen=True, slots=True)
class Written:
    """How a field is written in a sheet, for messages and forms.

    Args:
        example: its value, as TOML.
        unit: of a quantity, or of the absolute terms of an accuracy, which does not keep its own.
    """

    example: str
    unit: Unit = "1"


def written_of(field: FieldInfo) -> Written | None:
    """How a field of a document is written; None where its type does not say."""
    return _written([*field.metadata, field.annotation])


def _written(metadata: Iterable[Any]) -> Written | None:
    for one in metadata:
        if isinstance(one, Written):
            return one
        found = _written(get_args(one)) if get_origin(one) is not None else None
        if found is not None:
            return found
    return None


class PartName(str):
    """A text that names a part where a quantity might have stood (`load = "R7"`)."""

    __slots__ = ()


class ReadingName(str):
    """A text that names a reading where a quantity might have stood (`open = "@o1"`).

    The text keeps its "@".
    """

    __slots__ = ()


def reader(read: Callable[[Any], Any]) -> BeforeValidator:
    """Reads a field by a function of ours, whose error says what was expected."""

    def validate(value: Any, info: ValidationInfo) -> Any:
        try:
            return read(value)
        except OhmbookError as error:
            if info.context is not GATHER:
                raise
            told = {"told": str(error), "error": error}
            raise PydanticCustomError(TOLD, "{told}", told) from error

    return BeforeValidator(validate)


def _quantity(unit: Unit, *, some: bool = False) -> BeforeValidator:
    """Reads a quantity; `some` refuses 0, where a thing of 0 would be no thing."""

    def read(value: Any) -> Quantity:
        quantity = value if isinstance(value, Quantity) else parse_quantity(value, unit)
        return _more_than_0(quantity, some)

    return reader(read)


def _more_than_0(quantity: Quantity, some: bool) -> Quantity:
    if some and not quantity.value > 0.0:
        raise QuantityError(quantity.text, "more than 0", "it has to be more than 0")
    return quantity


def _accuracy(unit: Unit) -> BeforeValidator:
    def read(value: Any) -> Accuracy:
        return value if isinstance(value, Accuracy) else parse_accuracy(value, unit)

    return reader(read)


def _named_or_quantity(
    unit: Unit, name: type[PartName] | type[ReadingName], *, some: bool = False
) -> BeforeValidator:
    # A quantity never begins with a letter or "@" ("R7" would be 0.7 ohm on a part's body, but
    # here a mistyped name must not turn into a value).
    def read(value: Any) -> Quantity | PartName | ReadingName:
        if isinstance(value, Quantity):
            return value
        first = value[:1] if isinstance(value, str) else ""
        is_name = first == "@" if name is ReadingName else first.isalpha() or first == "_"
        return name(value) if is_name else _more_than_0(parse_quantity(value, unit), some)

    return reader(read)


def _table(value: Any) -> Table:
    if isinstance(value, Table):
        return value
    if not isinstance(value, str):
        raise QuantityError(
            str(value), "a table between triple quotes, its headings first", "this is no text"
        )
    return read_table(value)


Ohms = Annotated[Quantity, _quantity("ohm"), Written('"47.2 ohm ± 0.5 %"', "ohm")]
Henries = Annotated[Quantity, _quantity("H"), Written('"0.82 mH"', "H")]
Farads = Annotated[Quantity, _quantity("F"), Written('"8.2 uF ± 10 %"', "F")]
SomeOhms = Annotated[Quantity, _quantity("ohm", some=True), Written('"8 ohm"', "ohm")]
SomeHenries = Annotated[Quantity, _quantity("H", some=True), Written('"0.82 mH"', "H")]
SomeFarads = Annotated[Quantity, _quantity("F", some=True), Written('"8.2 uF ± 10 %"', "F")]
Hertz = Annotated[Quantity, _quantity("Hz"), Written('"1 kHz"', "Hz")]
SomeHertz = Annotated[Quantity, _quantity("Hz", some=True), Written('"1 kHz"', "Hz")]
SomeVolts = Annotated[Quantity, _quantity("V", some=True), Written('"4.12 Vpp"', "V")]
Volts = Annotated[Quantity, _quantity("V"), Written('"4.12 Vpp"', "V")]
Degrees = Annotated[Quantity, _quantity("deg"), Written('"-22 deg ± 2 deg"', "deg")]
SomeSeconds = Annotated[Quantity, _quantity("s", some=True), Written('"0.16 ms"', "s")]
SomeAmperes = Annotated[Quantity, _quantity("A", some=True), Written('"1.2 A"', "A")]

OhmsOrPart = Annotated[
    Quantity | PartName, _named_or_quantity("ohm", PartName), Written('"47.2 ohm ± 0.5 %"', "ohm")
]
OhmsOrReading = Annotated[
    Quantity | ReadingName, _named_or_quantity("ohm", ReadingName), Written('"0.2 ohm"', "ohm")
]
VoltsOrReading = Annotated[
    Quantity | ReadingName,
    _named_or_quantity("V", ReadingName, some=True),
    Written('"4.12 Vpp"', "V"),
]
TableText = Annotated[Table, reader(_table), Written('"""..."""')]

OhmsAccuracy = Annotated[Accuracy, _accuracy("ohm"), Written('"0.8 % + 0.2 ohm"', "ohm")]
HenriesAccuracy = Annotated[Accuracy, _accuracy("H"), Written('"5 % + 2 digits"', "H")]
FaradsAccuracy = Annotated[Accuracy, _accuracy("F"), Written('"3 % + 2 digits"', "F")]
VoltsAccuracy = Annotated[Accuracy, _accuracy("V"), Written('"0.5 % + 20 mV"', "V")]
DegreesAccuracy = Annotated[Accuracy, _accuracy("deg"), Written('"0.5 deg"', "deg")]
RelativeAccuracy = Annotated[Accuracy, _accuracy("1"), Written('"3 %"')]
