"""The time of each sample: its unit tested, its steps made even or told, its rate compared.

A header's unit is tested against the stated interval and against what any bench instrument can
do; where they disagree, that is asked, not settled in silence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures.capture import Assumed, Axis, Floats, Question, Remark
from ohmbook.captures.metadata import Stated
from ohmbook.captures.unitwords import UnitWord, unit_word
from ohmbook.errors import CaptureError, QuantityError
from ohmbook.units.parse import parse_quantity

FASTEST_HZ = 2e10
"""Samples a second beyond which a time step is doubted; common practice, no source."""
SLOWEST_HZ = 1.0
ALIKE = 0.02
"""How near a stated and a derived interval must be not to be doubted."""
TOLD = 1e-3
EVEN = 0.01
"""Departure from even steps, in steps, that is not told."""


@dataclass(slots=True)
class Notes:
    """What is gathered while a file is read."""

    assumed: list[Assumed] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)


def counted(
    name: str,
    rows: int,
    stated: tuple[float | None, float, float | None],
    answers: Mapping[str, str],
    notes: Notes,
) -> Axis:
    """Time by counting rows: from an answer or a stated interval, else only an index.

    Args:
        name: the file's, for messages.
        rows: how many.
        stated: the stated interval in seconds or None, the time of the first row, and the stated
            time per division or None.
        answers: may hold "interval".
        notes: what is gathered.
    """
    interval, start, base = stated
    if "interval" in answers:
        interval, why = _interval(name, answers["interval"]), "as answered"
    else:
        why = "the file states the interval and has no column of time"
    if not interval or interval < 0.0:
        notes.questions.append(
            Question(
                "interval",
                "the file has no column of time and states no interval: how far apart are the "
                f"samples?{f' ({base:.4g} s a division is stated)' if base else ''}",
                (),
                'interval = "2 us", or the sampling rate, interval = "500 kHz"',
            )
        )
        return Axis("index", np.arange(rows, dtype=float), 1.0)
    notes.assumed.append(Assumed("time", f"{interval:.9g} s from row to row", why))
    return Axis("time", start + interval * np.arange(rows, dtype=float), interval)


def _interval(name: str, text: str) -> float:
    try:
        return parse_quantity(text, "s").value
    except QuantityError as error:
        try:
            return 1.0 / parse_quantity(text, "Hz").value
        except (QuantityError, ZeroDivisionError):
            raise CaptureError(
                name, f"interval = {str(error).rstrip('.')}", 'expected "2 us" or "500 kHz"'
            ) from error


def of_column(
    name: str,
    values: Floats,
    unit: UnitWord | None,
    stated: Stated,
    answers: Mapping[str, str],
    notes: Notes,
) -> Axis:
    """Time from a column.

    Raises:
        CaptureError: it goes back, or stands still throughout.
    """
    factor = _factor(name, values, unit, stated, answers, notes)
    if factor is None:
        return Axis("index", np.arange(len(values), dtype=float), 1.0)
    return even(name, values * factor, notes, stated.interval_s())


def _factor(
    name: str,
    values: Floats,
    unit: UnitWord | None,
    stated: Stated,
    answers: Mapping[str, str],
    notes: Notes,
) -> float | None:
    if "time unit" in answers:
        word = unit_word(answers["time unit"])
        if word is None or word.unit != "s":
            raise CaptureError(
                name, f'time unit = "{answers["time unit"]}" is no unit of time', 'expected "us"'
            )
        notes.assumed.append(Assumed("time", answers["time unit"], "as answered"))
        return word.factor
    factor = 1.0 if unit is None else unit.factor
    step = float(np.median(np.diff(values))) if len(values) > 1 else 0.0
    span = float(np.ptp(values))
    interval = stated.interval_s()
    said = _said(factor)
    if interval and step > 0.0:
        return _against_interval(step, factor, interval, notes)
    doubt = _doubt(step, span, factor, stated)
    if doubt and step > 0.0:
        notes.questions.append(_unit_question(doubt, said))
        return None
    if unit is None:
        notes.questions.append(
            Question("time unit", "no unit of time is stated; seconds are taken", _UNITS, "", "s")
        )
    why = "nothing says otherwise" if unit is None else "its heading, and the steps are plausible"
    notes.assumed.append(Assumed("time", f"a column in {said}", why))
    return factor


_UNITS = ("s", "ms", "us", "ns")
_FACTORS = {1.0: "s", 1e-3: "ms", 1e-6: "us", 1e-9: "ns", 1e-12: "ps"}


def _said(factor: float) -> str:
    return next((word for size, word in _FACTORS.items() if np.isclose(size, factor)), "s")


def _unit_question(doubt: str, said: str) -> Question:
    return Question("time unit", f"{doubt}: in which unit is the column of time?", _UNITS, said)


def _against_interval(step: float, factor: float, interval: float, notes: Notes) -> float:
    """The factor that the stated interval confirms; the disagreement is told where none does."""
    said = _said(factor)
    if abs(step * factor / interval - 1.0) <= ALIKE:
        notes.assumed.append(
            Assumed("time", f"a column in {said}", "its steps are the stated interval")
        )
        if abs(step * factor / interval - 1.0) > TOLD:
            _rate_differs(step * factor, interval, notes)
        return factor
    for other, word in _FACTORS.items():
        if abs(step * other / interval - 1.0) <= ALIKE:
            notes.assumed.append(
                Assumed("time", f"a column in {word}", "its steps are the stated interval then")
            )
            notes.questions.append(
                Question(
                    "time unit",
                    f"the heading says {said}, but only in {word} are the steps the stated "
                    f"interval of {interval:.6g} s; {word} is taken",
                    _UNITS,
                    "",
                    word,
                )
            )
            return other
    _rate_differs(step * factor, interval, notes)
    notes.questions.append(
        Question(
            "time unit",
            f"the column of time steps by {step * factor:.6g} s, the stated interval is "
            f"{interval:.6g} s; the column is taken",
            _UNITS,
            "",
            said,
        )
    )
    notes.assumed.append(Assumed("time", f"a column in {said}", "it stands with the samples"))
    return factor


def _rate_differs(step: float, interval: float, notes: Notes) -> None:
    notes.remarks.append(
        Remark(
            "rate",
            f"the stated rate ({1 / interval:.7g} samples a second) is not that of the column of "
            f"time ({1 / step:.7g})",
        )
    )


def _doubt(step: float, span: float, factor: float, stated: Stated) -> str:
    """Why a unit of time is doubted, or ""."""
    if step <= 0.0:
        return ""
    rate = 1.0 / (step * factor)
    base = stated.base_s()
    if base and not 0.1 < span * factor / (base * 10.0) < 10.0:
        return (
            f"{base:.4g} s a division is stated, but the record would be {span * factor:.4g} s long"
        )
    if rate > FASTEST_HZ:
        return f"as {_said(factor)} there would be {rate:.3g} samples a second"
    if rate <= SLOWEST_HZ:
        return f"as {_said(factor)} there would be {rate:.3g} samples a second"
    if factor < 1.0 and span < 1.0:
        return f"as {_said(factor)} the whole record would be {span:.3g} {_said(factor)} long"
    return ""


def even(name: str, t: Floats, notes: Notes, interval: float | None = None) -> Axis:
    """A time axis in seconds that increases: made even where rounding broke it, and told.

    Raises:
        CaptureError: it goes back, or stands still throughout.
    """
    if len(t) < 2:
        return Axis("time", t)
    steps = np.diff(t)
    if np.all(steps <= 0.0) and np.any(steps < 0.0):
        raise CaptureError(name, "time runs backwards", "expected it to increase from row to row")
    if not np.any(steps > 0.0):
        raise CaptureError(name, "time stands still", "expected it to increase from row to row")
    rows = np.arange(len(t), dtype=float)
    slope, start = np.polyfit(rows, t, 1)
    grid = start + slope * rows
    if interval and not np.all(steps > 0.0) and abs(slope / interval - 1.0) <= ALIKE:
        # rounded stamps tell the step less well than the file itself
        slope, grid = interval, np.mean(t) + interval * (rows - rows.mean())
    off = float(np.abs(t - grid).max() / abs(slope))
    if off <= 0.1 and slope > 0.0:
        if off > EVEN:
            notes.remarks.append(
                Remark("time", f"time stamps wander by up to {off:.2g} of a step; even steps taken")
            )
        return Axis("time", grid, float(slope))
    return _repaired(name, t, steps, (grid, float(slope)), notes)


def _repaired(
    name: str, t: Floats, steps: Floats, line: tuple[Floats, float], notes: Notes
) -> Axis:
    back = np.flatnonzero(steps < 0.0)
    if len(back):
        raise CaptureError(
            name,
            f"time goes back at row {back[0] + 2}: {t[back[0] + 1]:.9g} s after {t[back[0]]:.9g} s",
            "are the columns in their order, or are there several captures in one file?",
        )
    skipped = _skipped(steps)
    if len(skipped):
        notes.remarks.append(
            Remark(
                "time",
                f"the samples are not evenly spaced: rows are missing at "
                f"{_places(len(skipped))}, the first below row {skipped[0] + 1}; "
                "time stamps are taken as they stand",
            )
        )
        return Axis("time", t)
    grid, slope = line
    coarse = float(np.min(steps[steps > 0.0]))
    same = int(np.sum(steps == 0.0))
    # stamps that were rounded stand within half the rounding of where they belong
    if float(np.abs(t - grid).max()) <= 0.75 * coarse + abs(slope):
        notes.remarks.append(
            Remark(
                "time",
                f"{same} time stamps stand twice, as rounding to {coarse:.3g} s makes them; "
                f"even steps of {slope:.9g} s were put in their place",
            )
        )
        return Axis("time", grid, slope)
    if same:
        raise CaptureError(
            name,
            f"{same} time stamps stand twice, and not by rounding",
            "save the capture once more, with more digits",
        )
    notes.remarks.append(Remark("time", "the samples are not evenly spaced; taken as they stand"))
    return Axis("time", t)


_SELDOM = 0.05


def _skipped(steps: Floats) -> NDArray[np.intp]:
    """Where a few steps are whole multiples of all the others: rows are missing there."""
    step = float(np.median(steps))
    if step <= 0.0 or not np.all(steps > 0.0):
        return np.empty(0, dtype=np.intp)
    turns = steps / step
    if float(np.abs(turns - np.round(turns)).max()) > 0.1:
        return np.empty(0, dtype=np.intp)
    found = np.flatnonzero(turns > 1.5)
    # stamps rounded to a little less than a step skip too, but at even distances and by one
    rounded = len(found) > 2 and np.ptp(np.diff(found)) <= 1 and turns.max() < 2.5
    return found if len(found) <= _SELDOM * len(steps) and not rounded else found[:0]


def _places(count: int) -> str:
    return "one place" if count == 1 else f"{count} places"
