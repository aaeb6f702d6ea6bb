"""Every error that ohmbook raises on purpose, under one root.

    OhmbookError              the data is at fault (exit status 1 at the command line)
    |-- QuantityError         a text is not the quantity that was expected
    |-- MarkingError          a marking has no meaning that can be told
    |-- TableError            a table of readings is at fault: row, column, what was expected
    |-- DrawingError          something in a drawing is not what it should be
    |-- SheetError            a sheet is at fault: file, line, what was expected
    |-- CaptureError          a capture file that cannot be used: why, what to do
    |-- CircuitError          a circuit that cannot be computed, by name of part or node
    |   |-- FloatingError     a node or part hangs in the air
    |   `-- ContradictionError  a source across a short, and the like
    |-- SettleError           the readings cannot be settled
    |   `-- PathlessError     ohms were read where, as drawn, no direct current flows
    |-- NotebookError         a notebook that cannot be opened, written or read: why, what to do
    |   `-- DamagedError      what is in it is not what was written
    `-- CallError             the call is at fault (exit status 2 at the command line)

Each class composes its own sentence from what it is given; `str(error)` is one message that a
person at a bench can act on.
"""

from __future__ import annotations


class OhmbookError(Exception):
    """The root: something about the data or the call, told in one sentence."""


class QuantityError(OhmbookError):
    """A text that is not the quantity expected.

    Args:
        text: what was written.
        expected: what would have been read, for example `an inductance such as "0.82 mH"`.
        why: what is wrong with it, a short clause.
    """

    def __init__(self, text: str, expected: str, why: str) -> None:
        super().__init__(f'"{text}": {why}; expected {expected}.')
        self.text = text
        self.expected = expected
        self.why = why


class MarkingError(OhmbookError):
    """A marking to which no meaning can be given."""

    def __init__(self, text: str, why: str) -> None:
        super().__init__(f'Marking "{text}": {why}.')
        self.text = text


class TableError(OhmbookError):
    """A table of readings that cannot be used.

    Args:
        row: counted from 1 below the headings; 0 is the headings.
        column: the column's heading as written, or "" where the whole row is meant.
        message: what is wrong and what was expected.
    """

    def __init__(self, row: int, column: str, message: str) -> None:
        place = f"row {row}" if row else "headings"
        if column:
            place = f"{place}, column {column}"
        super().__init__(f"{place}: {message}")
        self.row = row
        self.column = column
        self.message = message


class DrawingError(OhmbookError):
    """Something in a drawing that cannot be drawn.

    Args:
        found: what stands there, in words.
        expected: what would have been read.
    """

    def __init__(self, found: str, expected: str) -> None:
        super().__init__(f"found {found}; expected {expected}.")


class SheetError(OhmbookError):
    """A sheet that cannot be used: where, and what was expected.

    Args:
        file: the file's name as the person gave it.
        line: line number from 1, or None where no line can be named.
        message: what is wrong and what was expected.
        where: row and column of a table, or a key, in words; may be empty.
        others: further problems of the same sheet; up to four are listed after the first.
    """

    def __init__(
        self,
        file: str,
        line: int | None,
        message: str,
        where: str = "",
        others: tuple[SheetError, ...] = (),
    ) -> None:
        place = file if line is None else f"{file}, line {line}"
        if where:
            place = f"{place}, {where}"
        listed = [f"{place}: {message}", *map(str, others[:4])]
        if len(others) > 4:
            listed.append(f"and {len(others) - 4} more")
        super().__init__("\n".join(listed))
        self.file = file
        self.line = line
        self.where = where
        self.message = message
        self.others = others


class CaptureError(OhmbookError):
    """A capture file that cannot be used.

    Args:
        file: its name as the person gave it.
        why: what is wrong, a clause; names the line where there is one.
        advice: what to do next, a clause.
    """

    def __init__(self, file: str, why: str, advice: str) -> None:
        super().__init__(f"{file}: {why}; {advice}.")
        self.file = file
        self.why = why
        self.advice = advice


class CircuitError(OhmbookError):
    """A circuit that cannot be computed; the message names the parts or nodes."""


class FloatingError(CircuitError):
    """A node or part with no path to the rest of the circuit.

    Args:
        names: which.
        what: what they are.
        when: a circumstance, such as " at 0 Hz"; may be empty.
        why: the reason, a clause.
    """

    def __init__(
        self,
        names: tuple[str, ...],
        what: str = "node",
        when: str = "",
        why: str = "no path leads from there to the source",
    ) -> None:
        listed = ", ".join(f'"{name}"' for name in names)
        plural = what if len(names) == 1 else f"{what}s"
        hang = "hangs" if len(names) == 1 else "hang"
        super().__init__(f"The {plural} {listed} {hang} in the air{when}: {why}.")
        self.names = names


class ContradictionError(CircuitError):
    """A circuit that contradicts itself, such as a source across a short."""


class SettleError(OhmbookError):
    """Readings that cannot be settled; the message says which and why."""


class PathlessError(SettleError):
    """Ohms were read between nodes that nothing joins as the board is drawn.

    Args:
        reading: its name.
    """

    def __init__(self, reading: str) -> None:
        super().__init__(
            f"{reading}: no direct current flows between its clips; expected two nodes joined by "
            "coils, resistors or drivers. Where the meter did show something, the sketch is not "
            'so: a part is missing there, or drawn elsewhere; put struck = "why" into this reading '
            "to work out the rest meanwhile"
        )
        self.reading = reading


class NotebookError(OhmbookError):
    """A notebook that cannot be used.

    Args:
        file: its name as the person gave it.
        why: what is wrong, a clause; says that nothing was changed where that matters.
        advice: what to do next, a clause.
        older: it only has to be brought up to this version.
    """

    def __init__(self, file: str, why: str, advice: str, *, older: bool = False) -> None:
        super().__init__(f"{file}: {why}; {advice}.")
        self.file = file
        self.why = why
        self.advice = advice
        self.older = older


class DamagedError(NotebookError):
    """A notebook in which something else stands than was written."""


class CallError(OhmbookError):
    """A call that is at fault: an option, a name or a combination that cannot be."""
