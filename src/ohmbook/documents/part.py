"""Parts, sources and instruments as a sheet states them (a contract: rename nothing in it)."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, StrictBool

from ohmbook.circuit.network import Element
from ohmbook.documents.drawing import Drawing
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
    resistance: Ohms | None = Field(None, title="Output resistance")
    open: VoltsOrReading | None = Field(None, title="Amplitude with nothing connected")
    flatness: RelativeAccuracy | None = Field(None, title="How far it moves with frequency")
    earthed: StrictBool | None = Field(None, title="Its return is earth")
    note: str | None = None


class Oscilloscope(Document):
    """An oscilloscope and the causes of its errors."""

    kind: Literal["oscilloscope"]
    like: str | None = None
    reads: Literal["peak to peak", "rms", "cursors"] | None = Field(None, title="It reads")
    shared_gain: RelativeAccuracy | None = Field(None, title="Gain, shared by all readings")
    range_gain: RelativeAccuracy | None = Field(None, title="Gain, what each range adds")
    step: VoltsAccuracy | None = Field(None, title="Read-out step")
    noise: Volts | None = Field(None, title="On the screen with no signal")
    frequency: RelativeAccuracy | None = Field(None, title="Its frequency")
    probe_capacitance: Farads | None = Field(None, title="Probe capacitance")
    return_lead: Ohms | None = Field(None, title="Ground clip and lead")
    amplitude: VoltsAccuracy | None = Field(None, title="Or limits for each reading")
    earthed: StrictBool | None = Field(None, title="Its ground clip is earth")
    note: str | None = None


class Multimeter(Document):
    """A multimeter, or a component tester: the limits of what it shows."""

    kind: Literal["multimeter", "tester"]
    like: str | None = None
    resistance: OhmsAccuracy | None = Field(None, title="Resistance, how well it reads")
    inductance: HenriesAccuracy | None = Field(None, title="Inductance, how well it reads")
    capacitance: FaradsAccuracy | None = Field(None, title="Capacitance, how well it reads")
    impedance: OhmsAccuracy | None = Field(None, title="Impedance, how well it reads")
    phase: DegreesAccuracy | None = Field(None, title="Phase, how well it reads")
    frequency: Hertz | None = Field(None, title="The frequency it reads at")
    note: str | None = None


Instrument = Oscilloscope | Multimeter


class Defaults(Document):
    """What a reading need not repeat."""

    source: str | None = None
    instrument: str | None = None


class Sketch(Document):
    """The circuit: nodes, the input, the outputs and the amplifier; and how it is drawn."""

    ground: str = "gnd"
    input: str | tuple[str, str] | None = None
    amplifier: Ohms | None = None
    outputs: dict[str, str | tuple[str, str]] = Field(default_factory=dict)
    between: dict[str, tuple[str, str]] = Field(default_factory=dict)
    drawing: Drawing | None = None


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
