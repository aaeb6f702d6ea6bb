"""The prefix the bench uses: 0.82 mH and 8.2 µF, never 820 µH or 0.0000082.

The steps are the trade's, not powers of a thousand: coils are in mH from 0.1 mH, capacitors in µF
from 0.1 µF and up to thousands (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple

from ohmbook.units.quantity import Convention, Unit


class Prefix(NamedTuple):
    """A unit with its prefix.

    Args:
        power: of ten, from the shown number to SI.
        text: unit as shown, "mH"; with the convention for volts, "mVpp".
        power_text: exponent to write behind the number, where no prefix reaches ("e-15").
    """

    power: int
    text: str
    power_text: str = ""

    @property
    def scale(self) -> float:
        """What a shown number is multiplied by to be SI."""
        return float(f"1e{self.power}")


# From which size on (SI), power of ten, text; the last one is for whatever is smaller.
_STEPS: Mapping[Unit, tuple[tuple[str, int, str], ...]] = MappingProxyType(
    {
        "ohm": (("1e6", 6, "MΩ"), ("1e3", 3, "kΩ"), ("0.1", 0, "Ω"), ("0", -3, "mΩ")),
        "H": (("1", 0, "H"), ("1e-4", -3, "mH"), ("1e-7", -6, "µH"), ("0", -9, "nH")),
        "F": (("0.1", 0, "F"), ("1e-7", -6, "µF"), ("1e-9", -9, "nF"), ("0", -12, "pF")),
        "Hz": (("1e6", 6, "MHz"), ("1e3", 3, "kHz"), ("0", 0, "Hz")),
        "V": (("1", 0, "V"), ("1e-4", -3, "mV"), ("0", -6, "µV")),
        "A": (("1", 0, "A"), ("1e-4", -3, "mA"), ("0", -6, "µA")),
        "W": (("0.1", 0, "W"), ("0", -3, "mW")),
        "s": (("1", 0, "s"), ("1e-3", -3, "ms"), ("1e-6", -6, "µs"), ("0", -9, "ns")),
        "deg": (("0", 0, "°"),),
        "1": (("0", 0, ""),),
    }
)
_ZERO: Mapping[Unit, Prefix] = MappingProxyType(
    {"ohm": Prefix(0, "Ω"), "H": Prefix(-3, "mH"), "F": Prefix(-6, "µF"), "V": Prefix(0, "V")}
)
_BASE: Mapping[Unit, str] = MappingProxyType({"ohm": "Ω", "deg": "°", "1": ""})
_LEADING_ZEROS, _LEADING_DIGITS = 4, 7  # beyond these a number is written with an exponent


def prefix_for(size: float, unit: Unit, convention: Convention | None = None) -> Prefix:
    """The prefix for values of about this size, as for an axis or a column.

    Args:
        size: SI; its sign does not matter.
        unit: SI unit.
        convention: for volts.
    """
    return prefix_of(abs(Decimal(repr(float(size)))), unit, convention)


def prefix_of(size: Decimal, unit: Unit, convention: Convention | None = None) -> Prefix:
    """The prefix for a size that is rounded already; zero gets the unit's usual one."""
    chosen = _chosen(size, unit)
    return chosen._replace(text=f"{chosen.text}{convention or ''}")


def _chosen(size: Decimal, unit: Unit) -> Prefix:
    base = Prefix(0, _BASE.get(unit, unit))
    if not size:
        return _ZERO.get(unit, base)
    _, power, text = next(step for step in _STEPS[unit] if size >= Decimal(step[0]))
    first = size.adjusted() - power
    if -_LEADING_ZEROS <= first < _LEADING_DIGITS:
        return Prefix(power, text)
    return base._replace(power=size.adjusted(), power_text=f"e{size.adjusted()}")
