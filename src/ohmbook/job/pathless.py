"""Ohms that were read where the sketch has no way for them: told, and left out meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.estimates import Answer
from ohmbook.counsel.doubts import pathless
from ohmbook.counsel.doubts_told import pathless_finding
from ohmbook.counsel.steps import Progress
from ohmbook.documents.finding import Finding
from ohmbook.documents.reading import Sheet
from ohmbook.errors import OhmbookError, PathlessError
from ohmbook.units.quantity import Quantity

WHY = "as drawn, no direct current flows there"


def compiled_with_a_way(sheet: Sheet) -> tuple[Compiled, tuple[str, ...]]:
    """A sheet compiled without the ohms that have no way, and their names.

    Raises:
        OhmbookError: anything else that is wrong with the sheet; or nothing else was read.
    """
    found: list[str] = []
    while True:
        try:
            return compile_sheet(sheet), tuple(found)
        except OhmbookError as error:
            cause = error if isinstance(error, PathlessError) else error.__cause__
            if not isinstance(cause, PathlessError):
                raise
            found.append(cause.reading)
            sheet = _struck(sheet, cause.reading)
            if all(one.struck is not None for one in sheet.readings):
                raise


def _struck(sheet: Sheet, name: str) -> Sheet:
    readings = tuple(
        one.model_copy(update={"struck": WHY}) if one.name == name else one
        for one in sheet.readings
    )
    return replace(sheet, readings=readings)


def pathless_findings(
    answer: Answer, sheet: Sheet, names: Sequence[str], progress: Progress | None
) -> tuple[Finding, ...]:
    """What such readings tell of the sketch.

    Args:
        answer: of the sheet without them.
        sheet: with them.
        names: which.
        progress: called with (done, of) on the way.
    """
    if not names:
        return ()
    shown = [_shown(sheet, name) for name in names]
    words = " and ".join(shown)
    return (pathless_finding(pathless(answer, sheet, progress), names, words),)


def _shown(sheet: Sheet, name: str) -> str:
    """What a reading shows: "reading 3 shows 8.2 ohm between a and t"."""
    reading = next(one for one in sheet.readings if one.name == name)
    value = getattr(reading, "value", None)
    between = getattr(reading, "between", None)
    words = f"{name} shows {value.text}" if isinstance(value, Quantity) else f"{name} shows ohms"
    return f"{words} between {between[0]} and {between[1]}" if between else words
