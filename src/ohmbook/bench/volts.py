"""From what a person wrote of a voltage to volts peak to peak, and the screen's range."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10, sqrt

from ohmbook.documents.part import Oscilloscope
from ohmbook.units.quantity import Convention, Quantity
from ohmbook.units.show import show_plain

PEAK_TO_PEAK: dict[Convention, float] = {"pp": 1.0, "p": 2.0, "rms": 2.0 * sqrt(2.0)}
"""Volts peak to peak of a sine, for one volt in each convention."""

SCREEN_DIVISIONS = 8.0
SMALLEST_RANGE_V = 0.002
_READS: dict[str, Convention] = {"peak to peak": "pp", "cursors": "pp", "rms": "rms"}


@dataclass(frozen=True, slots=True)
class Amplitude:
    """A sine's amplitude as read: volts peak to peak, and how it was read.

    Args:
        vpp: volts peak to peak.
        factor: volts peak to peak for one volt in the convention it was written in.
        range_v: V/div of the range, or None where no instrument with ranges read it.
        guessed: whether the range was not stated and had to be guessed.
    """

    vpp: float
    factor: float
    range_v: float | None
    guessed: bool


def convention_of(written: Quantity, scope: Oscilloscope | None) -> Convention:
    """The convention of a written voltage: its own, else the instrument's, else peak to peak."""
    if written.convention is not None:
        return written.convention
    return "pp" if scope is None or scope.reads is None else _READS[scope.reads]


def peak_to_peak(written: Quantity) -> float:
    """A written voltage in volts peak to peak, whatever read it."""
    return written.value * PEAK_TO_PEAK[convention_of(written, None)]


def amplitude(
    written: Quantity, scope: Oscilloscope | None, range_v: float | None = None
) -> Amplitude:
    """A written voltage in volts peak to peak, with its range stated, handed in or guessed."""
    factor = PEAK_TO_PEAK[convention_of(written, scope)]
    vpp = written.value * factor
    stated = written.per_division if written.per_division is not None else range_v
    guessed = stated is None and scope is not None
    return Amplitude(vpp, factor, likely_range(vpp) if guessed else stated, guessed)


def likely_range(vpp: float) -> float:
    """The finest 1-2-5 range whose screen holds this amplitude, V/div (common practice)."""
    least = max(vpp / SCREEN_DIVISIONS, SMALLEST_RANGE_V)
    decade = 10.0 ** floor(log10(least) + 1e-9)
    for step in (1.0, 2.0, 5.0, 10.0):
        if step * decade >= least * (1.0 - 1e-9):
            return round(step * decade, 3 - ceil(log10(decade)))
    raise AssertionError("a decade holds every range")


def step_of(scope: Oscilloscope, read: Amplitude) -> float:
    """The read-out step of a screen at a range, volts peak to peak; 0 where not stated."""
    if scope.step is None:
        return 0.0
    return scope.step.of(read.vpp / read.factor, 0.0, (read.range_v or 0.0) / read.factor) * (
        read.factor
    )


FAINT_V = 5e-4


def said_vpp(volts: float) -> str:
    """Volts peak to peak as a person would say what is expected: "12.3 mVpp"."""
    return f"{show_plain(volts, 'V')}pp" if volts >= FAINT_V else "under 1 mVpp"
