"""Text with columns of numbers: an oscilloscope's CSV in any dialect, or plain columns.

Every dialect is read by the same steps: how columns part, where the numbers stand, what is stated
above or beside them, which column is the axis, and what nothing states.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np

from ohmbook.captures import block, labels, roles, timing
from ohmbook.captures.capture import Assumed, Axis, Capture, Channel, Floats, Question, Remark
from ohmbook.captures.labels import Column
from ohmbook.captures.metadata import Stated, beside, read_stated
from ohmbook.captures.scaling import scaled
from ohmbook.captures.signs import doubtful_frequency, remarks
from ohmbook.captures.spectra import spectral
from ohmbook.captures.style import Style, sniff
from ohmbook.captures.timing import Notes
from ohmbook.captures.unitwords import unit_word
from ohmbook.errors import CaptureError

ANSWERS = (
    "delimiter", "decimal", "columns", "axis", "time unit", "interval", "scale", "unit", "probe",
    "block", "frequency unit", "input", "two-port", "across", "on",
)  # fmt: skip
"""The keys of all questions that a text may bring up."""


def read_text(
    name: str, text: str, answers: Mapping[str, str], progress: block.Progress | None = None
) -> Capture:
    """A capture from text.

    Args:
        name: the file's, for messages.
        text: with plain line ends.
        answers: to questions that were asked, by key.
        progress: called with (done, of) in characters.

    Raises:
        CaptureError: what is wrong, and where.
    """
    sample: Sequence[str] = block.sample(name, text)
    style, assumed, questions = sniff(name, sample, answers)
    notes = Notes(list(assumed), list(questions))
    if questions:
        return Capture(name, "columns", None, (), assumed, questions)
    if style == Style(",", ","):
        text, sample, style = _pointed(name, text, sample)
    place = block.find(name, text, style, sample)
    numbers = block.load(name, text, style, place, progress)
    _tell_left_out(numbers, notes)
    _tell_ragged(sample, style, place, notes)
    return _told(name, _table(name, style, place, numbers.values, answers), answers, notes)


_PAIR = re.compile(r"([+-]?\d+),(\d+(?:[eE][+-]?\d+)?)(?=,|\s*$)", re.MULTILINE)


def _pointed(name: str, text: str, sample: Sequence[str]) -> tuple[str, Sequence[str], Style]:
    """Commas that mark decimals and part columns too: cells joined two by two."""
    plain = Style(",", ".")
    for line in sample:
        cells = plain.split(line.rstrip(", "))
        if all(map(plain.is_number, cells)) and len(cells) % 2:
            raise CaptureError(
                name,
                f'"{line.strip()[:60]}" cannot be parted: commas mark decimals and part columns, '
                "and some decimals are missing",
                "export it with semicolons between the columns, or with decimal points",
            )
    joined = _PAIR.sub(r"\1.\2", text)
    return joined, [_PAIR.sub(r"\1.\2", line) for line in sample], plain


def _tell_left_out(numbers: block.Numbers, notes: Notes) -> None:
    for line, cell in numbers.left_out:
        notes.remarks.append(
            Remark("rows", f"line {line} was left out: {cell} stands there, below the numbers")
        )


def _tell_ragged(sample: Sequence[str], style: Style, place: block.Place, notes: Notes) -> None:
    """Numbers of which most rows have none are left alone, and that is told."""
    for line in sample:
        cells = style.split(line)
        more = [k for k, cell in enumerate(cells) if cell and k > place.columns[-1]]
        if more and all(style.is_number(cell) for cell in cells if cell):
            notes.remarks.append(
                Remark(
                    "rows",
                    f"some rows have more numbers than others ({line.strip()[:60]}); only the "
                    f"{len(place.columns)} columns that most of them have are read",
                )
            )
            return


def _table(
    name: str, style: Style, place: block.Place, values: Floats, answers: Mapping[str, str]
) -> roles.Table:
    found = labels.read_labels(place.head, style, place.columns)
    common = read_stated(place.head, style)
    rows = [style.split(line) for line in place.beside]
    stated = []
    for k, cell in enumerate(place.columns):
        gap = k == 0 or place.columns[k - 1] < cell - 1
        if gap:
            first = place.columns[k - 1] + 1 if k else 0
            own = beside(rows, first, cell)
        stated.append(Stated((*own.pairs, *common.pairs)))
    stated = _started(found, stated, rows)
    answered = roles.answered_columns(name, found, answers.get("columns", ""))
    return roles.Table(answered.columns, answered.named, values, tuple(stated))


def _started(
    found: labels.Labels, stated: list[Stated], rows: Sequence[Sequence[str]]
) -> list[Stated]:
    """Headings "Start" and "Increment" with their numbers below: as if they had been stated."""
    names = [one.lower() for one in found.names]
    if "increment" not in names:
        return stated
    extra = []
    for key in ("start", "increment"):
        k = names.index(key) if key in names else len(names)
        below = [row[k] for row in (found.below, *rows[:1]) if k < len(row) and row[k]]
        extra += [(key, (one,)) for one in below[:1]]
    return [Stated((*extra, *one.pairs)) for one in stated]


def _told(name: str, table: roles.Table, answers: Mapping[str, str], notes: Notes) -> Capture:
    table = _with_row_numbers(table, notes)
    found, questions = roles.blocks(table, answers)
    notes.questions += questions
    stated = table.stated[0].plain()
    if not found:
        whole = table.values[np.isfinite(table.values).all(axis=1)]
        plain = tuple(
            Channel(one.name or f"column {k + 1}", "", whole[:, k])
            for k, one in enumerate(table.columns)
        )
        return _capture(name, None, plain, notes, stated)
    block_ = _chosen(found, answers, notes)
    if block_ is None:
        return _capture(name, None, (), notes, stated)
    if _asks_for_axis(block_, answers, notes):
        return _capture(name, None, (), notes, stated)
    rows = _ordered(table, block_, answers, _whole(table, block_, notes), notes)
    axis = _axis(name, (table, block_, rows), answers, notes)
    if axis.quantity == "frequency":
        channels = spectral(table, block_, rows, notes)
    else:
        channels = scaled(name, (table, block_, rows), answers, notes)
    if not {"time unit", "interval"} & set(answers) and block_.stated.interval_s() is None:
        notes.questions += doubtful_frequency(axis, channels, notes.questions)
    _tell_length(block_.stated, len(axis.values), notes)
    return _capture(name, axis, channels, notes, block_.stated.plain())


def _with_row_numbers(table: roles.Table, notes: Notes) -> roles.Table:
    found = roles.with_row_numbers(table)
    if found is not table:
        name = table.columns[0].name or "the first column"
        notes.assumed.append(Assumed("index", name, "it counts the rows by one"))
    return found


def _capture(
    name: str,
    axis: Axis | None,
    channels: tuple[Channel, ...],
    notes: Notes,
    stated: Mapping[str, str],
) -> Capture:
    spectrum = axis is not None and axis.quantity == "frequency"
    if not spectrum:
        notes.remarks += remarks(axis, channels)
    return Capture(
        name,
        "columns" if spectrum or axis is None else "oscilloscope",
        axis,
        channels,
        tuple(notes.assumed),
        tuple(notes.questions),
        tuple(notes.remarks),
        stated=stated,
    )


def _chosen(
    found: list[roles.Block], answers: Mapping[str, str], notes: Notes
) -> roles.Block | None:
    """The block that is meant, where there are several."""
    if len(found) == 1:
        return found[0]
    names = tuple(str(k + 1) for k in range(len(found)))
    given = answers.get("block", "")
    if given in names:
        return found[int(given) - 1]
    words = "; ".join(
        f"{k + 1}: {one.quantity} with {', '.join(c.name or 'a channel' for c in one.channels)}"
        for k, one in enumerate(found)
    )
    notes.questions.append(
        Question(
            "block",
            f"{len(found)} captures stand side by side, each with its own axis ({words}): which?",
            names,
            'block = "1"',
        )
    )
    return None


def _asks_for_axis(found: roles.Block, answers: Mapping[str, str], notes: Notes) -> bool:
    """Whether it must be asked if the first column is time or frequency."""
    if answers.get("axis") in roles.AXES or found.axis is None:
        return False
    decibels = any(
        (unit := roles.unit_of(one, found.stated, k)) is not None and unit.unit == "dB"
        for k, one in enumerate(found.channels)
    )
    horizontal = found.stated.horizontal()
    other = {"time": "Hz", "frequency": "s"}.get(found.quantity, "")
    spectrum = found.stated.spectrum() or any("fft" in one.name.lower() for one in found.channels)
    doubt = found.axis.contradicts or (horizontal is not None and horizontal.unit == other)
    doubt = doubt or (found.quantity == "time" and (decibels or spectrum))
    if doubt or found.quantity == "axis":
        notes.questions.append(
            Question(
                "axis",
                "what is said of the first column does not agree (time, or a spectrum's "
                "frequency?)",
                ("time", "frequency"),
                'axis = "frequency"',
            )
        )
    return doubt


def _whole(table: roles.Table, found: roles.Block, notes: Notes) -> Floats:
    """The rows in which the axis and every channel have a number; the rest is told."""
    used = [*([found.axis] if found.axis else []), *found.channels]
    values = np.column_stack([table.of(one) for one in used])
    whole = np.asarray(np.isfinite(values).all(axis=1))
    ended = np.flatnonzero(whole)
    if not len(ended):
        raise CaptureError("the capture", "no row is whole", "save the capture once more")
    missing = int(np.sum(~whole[: ended[-1]]))
    if missing and found.axis is None:
        raise CaptureError(
            "the capture",
            f"{missing} samples are missing in the middle, and there is no column of time",
            "save the capture once more",
        )
    if not whole.all():
        first = int(np.flatnonzero(~whole)[0]) + 1
        notes.remarks.append(
            Remark(
                "rows",
                f"{int(np.sum(~whole))} rows are not whole and were left out, the first is "
                f"row {first}",
            )
        )
    return np.flatnonzero(whole).astype(float)


def _ordered(
    table: roles.Table,
    found: roles.Block,
    answers: Mapping[str, str],
    rows: Floats,
    notes: Notes,
) -> Floats:
    """Rows over frequency in rising order; many instruments sweep down."""
    if found.axis is None or answers.get("axis", found.quantity) != "frequency":
        return rows
    f = table.of(found.axis)[rows.astype(np.intp)]
    if np.all(np.diff(f) >= 0.0):
        return rows
    if not np.all(np.diff(f) <= 0.0):
        notes.remarks.append(Remark("rows", "the frequencies go up and down; rows were sorted"))
    return np.asarray(rows[np.argsort(f, kind="stable")])


def _axis(
    name: str,
    where: tuple[roles.Table, roles.Block, Floats],
    answers: Mapping[str, str],
    notes: Notes,
) -> Axis:
    table, found, rows = where
    quantity = answers.get("axis", found.quantity)
    keep = rows.astype(np.intp)
    if found.axis is None or quantity == "index":
        first = _first(found.stated)
        start, interval = first, found.stated.interval_s()
        if found.axis is not None and interval:
            start += float(table.of(found.axis)[keep[0]]) * interval
        return timing.counted(
            name, len(keep), (interval, start, found.stated.base_s()), answers, notes
        )
    values = table.of(found.axis)[keep]
    unit = found.axis.unit or found.stated.horizontal()
    if quantity == "time":
        return timing.of_column(name, values, unit, found.stated, answers, notes)
    return _frequencies(name, values, found.axis, answers, notes)


def _first(stated: Stated) -> float:
    found = stated.first(re.compile(r"^start$", re.IGNORECASE))
    try:
        return float(found[1][0]) if found else 0.0
    except (ValueError, IndexError):
        return 0.0


def _frequencies(
    name: str, values: Floats, column: Column, answers: Mapping[str, str], notes: Notes
) -> Axis:
    unit = column.unit
    if "frequency unit" in answers:
        unit = unit_word(answers["frequency unit"])
        if unit is None or unit.unit != "Hz":
            raise CaptureError(
                name, f'"{answers["frequency unit"]}" is no unit of frequency', 'expected "kHz"'
            )
    factor = 1.0 if unit is None or unit.unit != "Hz" else unit.factor
    said = column.unit_text or answers.get("frequency unit", "Hz")
    why = "its heading" if unit is not None else "nothing says otherwise"
    notes.assumed.append(Assumed("frequency", f"a column in {said}", why))
    if unit is None:
        notes.questions.append(
            Question(
                "frequency unit",
                "no unit of frequency is stated; hertz are taken",
                ("Hz", "kHz"),
                "",
                "Hz",
            )
        )
    if np.any(values < 0.0):
        raise CaptureError(
            name,
            f"the frequency {values.min():g} {said} is below zero",
            "are the columns in order?",
        )
    if np.any(values[1:] == values[:-1]):
        notes.remarks.append(Remark("rows", "some frequencies stand twice"))
    steps = np.diff(values * factor)
    step = float(np.mean(steps)) if len(steps) else 0.0
    even = len(steps) > 1 and bool(np.allclose(steps, step, rtol=1e-3, atol=0.0))
    return Axis("frequency", values * factor, step if even and step > 0.0 else 0.0)


def _tell_length(stated: Stated, rows: int, notes: Notes) -> None:
    length = stated.length()
    if length and length != rows:
        notes.remarks.append(Remark("rows", f"{length} points are stated, {rows} rows were read"))
