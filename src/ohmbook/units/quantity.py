"""The nouns of the units room: a quantity as written, and how well it is known.

Values are SI and unscaled throughout (4.7 kohm is 4700.0). A voltage keeps the convention it was
written in: "4.12 Vpp" is value 4.12 with convention "pp", and its accuracy, step and last digit
are in that same convention.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Literal

Unit = Literal["ohm", "H", "F", "Hz", "V", "A", "W", "s", "deg", "1"]
Convention = Literal["pp", "p", "rms"]
Statement = Literal["limits", "standard", "expanded"]

_SIZE_OF_SINE = {"rms": 1.0, "p": sqrt(2.0), "pp": 2.0 * sqrt(2.0)}


def sine_factor(have: Convention, want: Convention) -> float:
    """What a sine's amplitude in one convention is multiplied by for another: rms to pp, 2 sqrt 2.

    Exact for a sine; for any other wave it is wrong, which is why it is asked for by name.
    """
    return _SIZE_OF_SINE[want] / _SIZE_OF_SINE[have]


@dataclass(frozen=True, slots=True)
class Accuracy:
    """A sum of terms, any of them zero: share of the reading, absolute, digits, divisions.

    Args:
        relative: fraction of the value (0.8 % is 0.008, 50 ppm is 5e-5).
        absolute: in the unit of the quantity, SI; for volts in the reading's own convention.
        digits: counts of the last displayed digit.
        divisions: screen divisions of the range in use.
    """

    relative: float = 0.0
    absolute: float = 0.0
    digits: float = 0.0
    divisions: float = 0.0

    def of(self, value: float, last_digit: float = 0.0, per_division: float = 0.0) -> float:
        """The accuracy in SI units for one value, given its last digit and its V/div."""
        return (
            self.relative * abs(value)
            + self.absolute
            + self.digits * last_digit
            + self.divisions * per_division
        )


@dataclass(frozen=True, slots=True)
class Spread:
    """How well a written quantity is known.

    Args:
        accuracy: the size.
        statement: "limits" (`± a`, rectangular: GUM 4.3.7), "standard" (`(u)`, a standard
            uncertainty: GUM 7.2.2), "expanded" (`± U (k=2)`: GUM 7.2.4).
        coverage: k, for an expanded uncertainty.
    """

    accuracy: Accuracy
    statement: Statement = "limits"
    coverage: float = 1.0


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity as a person wrote it.

    Args:
        value: SI, unscaled; volts in `convention`.
        unit: its SI unit; "1" for a bare number.
        text: as written.
        spread: how well it is known, or None where nothing is stated.
        convention: for volts: "pp", "p", "rms", or None where not stated.
        per_division: V/div of the range, from `@ 50 mV/div`, or None.
        last_digit: SI size of one count of the last written digit ("0.50 ohm" is 0.01).
    """

    value: float
    unit: Unit
    text: str
    spread: Spread | None = None
    convention: Convention | None = None
    per_division: float | None = None
    last_digit: float = 0.0

    @property
    def half_width(self) -> float:
        """Half the width of the limits, SI; 0 where no limits are stated."""
        if self.spread is None or self.spread.statement != "limits":
            return 0.0
        return self._size()

    @property
    def u(self) -> float:
        """Standard uncertainty, SI; 0 where none is stated (limits: a/sqrt 3, GUM 4.3.7)."""
        if self.spread is None:
            return 0.0
        divisor = {"limits": sqrt(3.0), "standard": 1.0, "expanded": self.spread.coverage}
        return self._size() / divisor[self.spread.statement]

    @property
    def rectangular(self) -> bool:
        """Whether the spread is stated as limits, so that a rectangle describes it."""
        return self.spread is not None and self.spread.statement == "limits"

    def _size(self) -> float:
        assert self.spread is not None
        return self.spread.accuracy.of(self.value, self.last_digit, self.per_division or 0.0)
