"""Channels over frequency: real and imaginary parts, or magnitude and phase, joined."""

from __future__ import annotations

import re

import numpy as np

from ohmbook.captures.capture import Assumed, Channel, Floats, Question, Remark
from ohmbook.captures.roles import Block, Table, unit_of
from ohmbook.captures.timing import Notes

_REAL = re.compile(r"^(re\b|re\.|real|resistance|r$)", re.IGNORECASE)
_IMAGINARY = re.compile(r"^(im\b|im\.|imag|reactance|x$)", re.IGNORECASE)
_PHASE = re.compile(r"phase|angle|^arg|^ph\b|^phi|θ|theta", re.IGNORECASE)
_SIZE = re.compile(r"mag|amplitude|gain|level|\|.*\||impedance|^z\b|^db|spl|volt|modulus", re.I)
_DOUBT = re.compile(r"^(u|unc|uncertainty|error|err|sd|sigma|std)\b", re.IGNORECASE)


def spectral(table: Table, block: Block, rows: Floats, notes: Notes) -> tuple[Channel, ...]:
    """The channels over frequency, complex where both of their halves are there."""
    keep = rows.astype(np.intp)
    found = []
    for k, column in enumerate(block.channels):
        word = unit_of(column, block.stated, k)
        factor = 1.0 if word is None else word.factor
        unit = "" if word is None else word.unit
        name = column.name or (unit and {"deg": "phase", "dB": "magnitude"}.get(unit, ""))
        found.append(Channel(name or f"column {k + 2}", unit, table.of(column)[keep] * factor))
    found = _with_doubts(found)
    joined = _joined(found, notes)
    _tell_about_phase(joined, notes)
    _ask_for_units(joined, notes)
    return joined


def _with_doubts(found: list[Channel]) -> list[Channel]:
    """A column of uncertainties belongs to the column before it."""
    kept: list[Channel] = []
    for one in found:
        if kept and _DOUBT.match(one.name) and kept[-1].u is None:
            last = kept[-1]
            kept[-1] = Channel(last.name, last.unit, last.values, np.abs(one.values))
        else:
            kept.append(one)
    return kept


def _joined(found: list[Channel], notes: Notes) -> tuple[Channel, ...]:
    joined: list[Channel] = []
    for one in found:
        last = joined[-1] if joined else None
        if last is not None and last.values.dtype.kind != "c":
            pair = _pair(last, one, len(joined) == 1, notes)
            if pair is not None:
                joined[-1] = pair
                continue
        joined.append(one)
    return tuple(joined)


def _pair(first: Channel, second: Channel, leading: bool, notes: Notes) -> Channel | None:
    if _REAL.match(first.name) and _IMAGINARY.match(second.name):
        notes.assumed.append(
            Assumed("values", f"{first.name} and {second.name} as one complex value", "their names")
        )
        name = "impedance" if first.unit == "ohm" else "value"
        return Channel(name, first.unit, first.values + 1j * second.values)
    phase = second.unit == "deg" or (bool(_PHASE.search(second.name)) and second.unit == "")
    if first.unit == "deg" and not phase and _SIZE.search(second.name):
        return _pair(second, first, True, notes)
    if not phase or first.unit == "deg":
        return None
    if not (_SIZE.search(first.name) or first.unit in ("dB", "ohm", "V", "Vpp") or leading):
        return None
    if second.unit == "" and not _ask_angle(second, notes):
        return None
    notes.assumed.append(
        Assumed("values", f"{first.name} and {second.name} as one complex value", "their names")
    )
    size = first.values
    unit = first.unit
    if unit == "dB":
        size, unit = 10.0 ** (size / 20.0), "1"
    return Channel(first.name, unit, size * np.exp(1j * np.radians(second.values)))


def _ask_angle(phase: Channel, notes: Notes) -> bool:
    """Degrees, where any value is beyond what radians would be; asked where both could be."""
    if np.abs(phase.values).max(initial=0.0) > 6.5:
        notes.assumed.append(Assumed("phase", "degrees", "radians do not go that far"))
        return True
    notes.questions.append(
        Question(
            "columns",
            f"nothing says whether {phase.name} is in degrees or radians",
            (),
            'columns = "frequency/Hz, magnitude/ohm, phase/rad"',
        )
    )
    return False


def _ask_for_units(found: tuple[Channel, ...], notes: Notes) -> None:
    unknown = [one.name for one in found if one.unit == "" and not _PHASE.search(one.name)]
    if unknown and not any(one.key == "columns" for one in notes.questions):
        notes.questions.append(
            Question(
                "columns",
                f"no unit is stated for {', '.join(unknown)}: a plain number is taken",
                (),
                'columns = "frequency/Hz, magnitude/ohm, phase/deg"',
                "a plain number",
            )
        )


def _tell_about_phase(found: tuple[Channel, ...], notes: Notes) -> None:
    if not found or any(one.values.dtype.kind == "c" or one.unit == "deg" for one in found):
        return
    notes.remarks.append(
        Remark(
            "phase",
            "there is no phase: magnitudes alone tell less of a part (L/R, not L), and a "
            "spectrum's levels are no readings of one",
        )
    )
