"""From numbers to volts: units, raw counts, probes; what is not stated is asked."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ohmbook.captures.capture import Assumed, Channel, Floats, Question
from ohmbook.captures.labels import Column
from ohmbook.captures.roles import Block, Table, unit_of
from ohmbook.captures.timing import Notes
from ohmbook.captures.unitwords import UnitWord, unit_word
from ohmbook.errors import CaptureError, QuantityError
from ohmbook.units.parse import parse_quantity

_FEWEST_WHOLE = 8


def scaled(
    name: str, where: tuple[Table, Block, Floats], answers: Mapping[str, str], notes: Notes
) -> tuple[Channel, ...]:
    """The channels of a waveform, in SI as far as the file or an answer tells.

    Raises:
        CaptureError: an answer is no unit or scale.
    """
    table, block, rows = where
    keep = rows.astype(np.intp)
    found = []
    for k, column in enumerate(block.channels):
        values = table.of(column)[keep]
        unit = _answered_unit(name, answers) or unit_of(column, block.stated, k)
        found.append(_channel(name, column, (values, unit, k), answers, notes))
    _ask_about_units(found, notes)
    return _probed(name, tuple(found), block, answers, notes)


def _answered_unit(name: str, answers: Mapping[str, str]) -> UnitWord | None:
    if "unit" not in answers:
        return None
    word = unit_word(answers["unit"])
    if word is None:
        raise CaptureError(name, f'unit = "{answers["unit"]}" is no unit', 'expected "V" or "mV"')
    return word


def _channel(
    name: str,
    column: Column,
    held: tuple[Floats, UnitWord | None, int],
    answers: Mapping[str, str],
    notes: Notes,
) -> Channel:
    values, unit, number = held
    called = column.name or f"channel {number + 1}"
    raw = _looks_raw(values) and (unit is None or unit.unit == "count")
    if "scale" in answers and (unit is None or unit.unit == "count" or _looks_raw(values)):
        scale = _scale(name, answers["scale"])
        notes.assumed.append(
            Assumed("scale", f"{called}: {scale:g} V a count, from count 0", "as answered")
        )
        return Channel(called, "V", values * scale)
    if raw:
        _ask_for_scale(called, notes)
        return Channel(called, "count", values)
    if unit is None:
        return Channel(called, "", values)
    if _looks_raw(values) and unit.factor == 1.0 and unit.unit == "V":
        _doubt_whole_volts(called, notes)
    notes.assumed.append(Assumed("unit", f"{called}: {unit.unit}", _why(column, answers)))
    return Channel(called, unit.unit, values * unit.factor)


def _why(column: Column, answers: Mapping[str, str]) -> str:
    if "unit" in answers:
        return "as answered"
    return "its heading" if column.unit is not None else "stated above the numbers"


def _looks_raw(values: Floats) -> bool:
    """Whole numbers, many of them different, as a converter gives them."""
    head = values[:5000]
    whole = bool(np.all(head == np.round(head)))
    return whole and len(np.unique(head)) >= _FEWEST_WHOLE


def _ask_for_scale(called: str, notes: Notes) -> None:
    if any(one.key == "scale" for one in notes.questions):
        return
    notes.questions.append(
        Question(
            "scale",
            f"{called} holds whole numbers without a unit, as a converter's counts: how many volts "
            "is one? (the ratio of two channels needs no scale)",
            (),
            'scale = "20 mV", or unit = "mV" where they are no counts',
        )
    )


def _doubt_whole_volts(called: str, notes: Notes) -> None:
    notes.questions.append(
        Question(
            "scale",
            f"{called} is said to be in volts, and holds whole numbers only: are they counts? "
            "(volts are taken)",
            (),
            'scale = "20 mV" where they are',
            "1 V",
        )
    )


def _scale(name: str, text: str) -> float:
    try:
        return parse_quantity(text, "V").value
    except QuantityError as error:
        raise CaptureError(name, f"scale = {error}", 'expected volts a count, "20 mV"') from error


def _ask_about_units(found: list[Channel], notes: Notes) -> None:
    unknown = [one.name for one in found if one.unit == ""]
    if unknown:
        notes.questions.append(
            Question(
                "unit",
                f"no unit is stated for {', '.join(unknown)} (the ratio of two channels needs "
                "none)",
                ("V", "mV", "A", "mA"),
                'unit = "mV"',
            )
        )


def _probed(
    name: str, found: tuple[Channel, ...], block: Block, answers: Mapping[str, str], notes: Notes
) -> tuple[Channel, ...]:
    """A probe's ratio: counted in by nearly every instrument, and asked about all the same."""
    ratios = block.stated.probes()
    given = answers.get("probe", "")
    if given and given != "counted":
        try:
            factor = float(given.upper().strip("X"))
        except ValueError as error:
            raise CaptureError(
                name, f'probe = "{given}" is no ratio', 'expected "counted" or a ratio, "10"'
            ) from error
        each = block.stated.probes_each(len(found))
        factors = each if factor in each else (factor,) * len(found)
        notes.assumed += [
            Assumed("probe", f"{one.name}: times {by:g}", "as answered")
            for one, by in zip(found, factors, strict=True)
        ]
        return tuple(
            Channel(one.name, one.unit, one.values * by)
            for one, by in zip(found, factors, strict=True)
        )
    if ratios and not given:
        said = ", ".join(f"{ratio:g}" for ratio in ratios)
        notes.questions.append(
            Question(
                "probe",
                f"a probe ratio of {said} is stated; the numbers are taken to have it counted in",
                ("counted", *(f"{ratio:g}" for ratio in ratios)),
                'probe = "10" where they must still be multiplied',
                "counted",
            )
        )
    if ratios or given:
        notes.assumed.append(
            Assumed("probe", "counted in", "as answered" if given else "most instruments do")
        )
    return found
