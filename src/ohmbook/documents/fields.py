"""Field types for the documents: a quantity written as text, checked against its unit."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict

from ohmbook.units.parse import parse_accuracy, parse_quantity
from ohmbook.units.quantity import Accuracy, Quantity, Unit


class Document(BaseModel):
    """Base of all documents: frozen, and an unknown key is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


def _quantity(unit: Unit) -> BeforeValidator:
    def read(value: Any) -> Quantity:
        return value if isinstance(value, Quantity) else parse_quantity(value, unit)

    return BeforeValidator(read)


def _accuracy(unit: Unit) -> BeforeValidator:
    def read(value: Any) -> Accuracy:
        return value if isinstance(value, Accuracy) else parse_accuracy(value, unit)

    return BeforeValidator(read)


Ohms = Annotated[Quantity, _quantity("ohm")]
Henries = Annotated[Quantity, _quantity("H")]
Farads = Annotated[Quantity, _quantity("F")]
Hertz = Annotated[Quantity, _quantity("Hz")]
Volts = Annotated[Quantity, _quantity("V")]
Degrees = Annotated[Quantity, _quantity("deg")]

OhmsAccuracy = Annotated[Accuracy, _accuracy("ohm")]
VoltsAccuracy = Annotated[Accuracy, _accuracy("V")]
RelativeAccuracy = Annotated[Accuracy, _accuracy("1")]
