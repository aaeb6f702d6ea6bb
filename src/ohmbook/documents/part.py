"""Parts, sources and instruments as a sheet states them (a contract: rename nothing in it)."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, StrictBool

from ohmbook.circuit.network import Element
from ohmbook.documents.fields import (
    DegreesAccuracy,
    Document,
    Farads,
    FaradsAccuracy,
    HenriesAccuracy,
    Hertz,
    Ohms,
    OhmsAccuracy,
    RelativeAccuracy,
    SomeFarads,
    SomeHenries,
    SomeOhms,
    Volts,
    VoltsAccuracy,
    VoltsOrReading,
)
from ohmbook.units.quantity import Accuracy, Quantity

PartKind = Literal["inductor", "capacitor", "resistor", "driver"]
Dielectric = Literal["electrolytic", "film", "paper", "ceramic"]
Core = Literal["air", "iron", "ferrite"]
MAIN_QUANTITY: dict[PartKind, str] = {
    "inductor": "inductance",
    "capacitor": "capacitance",
    "resistor": "resistance",
    "driver": "resistance",
}


ELEMENT: dict[PartKind, Element] = {
    "inductor": "inductor",
    "capacitor": "capacitor",
    "resistor": "resistor",
    "driver": "resistor",
}
"""What each part is to a circuit."""


class _PartBase(Document):
    marking: str | None = None
    between: tuple[str, str] | None = None
    note: str | None = None

    @property
    def stated(self) -> Quantity | None:
        """The value that the sheet states for the main quantity, or None."""
        return getattr(self, "value", None)


class Inductor(_PartBase):
    """A coil: `resistance` is its series resistance ("0 ohm" makes it ideal)."""

    kind: Literal["inductor"]
    value: SomeHenries | None = None
    resistance: Ohms | None = None
    winding_capacitance: Farads | None = None
    core: Core = "air"
    made_of: tuple[SomeHenries, ...] | None = None


class Capacitor(_PartBase):
    """A capacitor: `resistance` is its series resistance ("0 ohm" makes it ideal)."""

    kind: Literal["capacitor"]
    value: SomeFarads | None = None
    resistance: Ohms | None = None
    dielectric: Dielectric | None = None
    made_of: tuple[SomeFarads, ...] | None = None


class Resistor(_PartBase):
    """A resistor."""

    kind: Literal["resistor"]
    value: Ohms | None = None
    made_of: tuple[SomeOhms, ...] | None = None


class Driver(_PartBase):
    """A driver: its rated resistance for now; the first node of `between` is its +."""

    kind: Literal["driver"]
    rated: SomeOhms

    @property
    def stated(self) -> Quantity | None:
        """The rated resistance."""
        return self.rated


Part = Inductor | Capacitor | Resistor | Driver


class Source(Document):
    """A signal generator as its terminals see it."""

    like: str | None = None
    resistance: Ohms | None = None
    open: VoltsOrReading | None = None
    flatness: RelativeAccuracy | None = None
    earthed: StrictBool | None = None
    note: str | None = None


class Oscilloscope(Document):
    """An oscilloscope and the causes of its errors."""

    kind: Literal["oscilloscope"]
    like: str | None = None
    reads: Literal["peak to peak", "rms", "cursors"] | None = None
    shared_gain: RelativeAccuracy | None = None
    range_gain: RelativeAccuracy | None = None
    step: VoltsAccuracy | None = None
    noise: Volts | None = None
    frequency: RelativeAccuracy | None = None
    probe_capacitance: Farads | None = None
    return_lead: Ohms | None = None
    amplitude: VoltsAccuracy | None = None
    earthed: StrictBool | None = None
    note: str | None = None


class Multimeter(Document):
    """A multimeter, or a component tester: the limits of what it shows."""

    kind: Literal["multimeter", "tester"]
    like: str | None = None
    resistance: OhmsAccuracy | None = None
    inductance: HenriesAccuracy | None = None
    capacitance: FaradsAccuracy | None = None
    impedance: OhmsAccuracy | None = None
    phase: DegreesAccuracy | None = None
    frequency: Hertz | None = None
    note: str | None = None


Instrument = Oscilloscope | Multimeter


class Defaults(Document):
    """What a reading need not repeat."""

    source: str | None = None
    instrument: str | None = None


class Sketch(Document):
    """The circuit: nodes, the input, the outputs and the amplifier."""

    ground: str = "gnd"
    input: str | tuple[str, str] | None = None
    amplifier: Ohms | None = None
    outputs: dict[str, str | tuple[str, str]] = Field(default_factory=dict)
    between: dict[str, tuple[str, str]] = Field(default_factory=dict)


__all__ = [
    "ELEMENT",
    "MAIN_QUANTITY",
    "Accuracy",
    "Capacitor",
    "Defaults",
    "Driver",
    "Inductor",
    "Instrument",
    "Multimeter",
    "Oscilloscope",
    "Part",
    "Resistor",
    "Sketch",
    "Source",
]
