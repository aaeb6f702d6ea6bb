"""What a person gives at the command line, made into calls of the library door."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, log
from typing import TYPE_CHECKING, Any

from ohmbook.errors import CallError, MarkingError, QuantityError

if TYPE_CHECKING:
    from ohmbook import Behaviour, Settled, Sheet
    from ohmbook.cli.screen import Progress
    from ohmbook.documents.comparison import Comparison
    from ohmbook.units.marking.meaning import Meaning, PartKindName

STDIN = "-"

_KINDS: dict[str, PartKindName] = {
    "coil": "inductor",
    "inductor": "inductor",
    "capacitor": "capacitor",
    "resistor": "resistor",
}


def sheet(path: str) -> Sheet:
    """The sheet at a path, from standard input for "-", or a board of a notebook.

    Raises:
        CallError: there is no such file or board.
        SheetError: what is wrong in it.
    """
    from ohmbook.job.sheets import sheet_at

    return sheet_at(path)


def settled(
    path: str, at: str | None = None, trials: int = 0, bar: Progress | None = None
) -> Settled:
    """Everything settled from the sheet at a path; the options are checked first."""
    import ohmbook

    at_hz = None if at is None else hertz(at, "--at")
    return ohmbook.settle(sheet(path), at_hz=at_hz, trials=trials, progress=bar)


def behaviour(settled: Settled, draws: int, frequencies: tuple[str, str, int] | None) -> Behaviour:
    """The behaviour on the grid that was asked for."""
    from ohmbook.job.asked import behaviour_on

    if frequencies is None:
        return behaviour_on(settled, draws, None)
    low, high, count = frequencies
    span = (hertz(low, "--frequencies"), hertz(high, "--frequencies"), count)
    return behaviour_on(settled, draws, span)


def compared(left: str, right: str, alike: str | None) -> Comparison:
    """Two sheets compared.

    Raises:
        CallError: both come from standard input, or `alike` is no share.
    """
    from ohmbook.job.compare import compare

    if left == right == STDIN:
        raise CallError("Only one of the two sheets can come from standard input.")
    return compare(sheet(left), sheet(right), alike=None if alike is None else share(alike))


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of `next`: names, a tolerance, and how many numbers a plan may have."""

    want: tuple[str, ...]
    within: float
    plan: int | None


def asked(want: Sequence[str], within: str, plan: int | None) -> Asked:
    """What is asked of `next`: within "5 %", or "0.5 dB" for the outputs' curves.

    Raises:
        CallError: it is neither a share nor decibels.
    """
    number, unit = within[:-2].strip(), within[-2:]
    if unit != "dB":
        return Asked(tuple(want), share(within, "--within"), plan)
    try:
        relative = float(number) / (20.0 / log(10.0))
    except ValueError:
        relative = 0.0
    if not 0.0 < relative < 1.0:
        raise CallError(f'--within "{within}": expected a share such as "5 %", or "0.5 dB".')
    return Asked(tuple(want) or ("level at",), relative, plan)


def next_document(path: str, asked: Asked, bar: Progress | None) -> dict[str, Any]:
    """What to read next from the sheet at a path, or a whole plan."""
    from ohmbook.job import wanted

    state = settled(path, bar=bar)
    if asked.plan is None:
        found = wanted.next_readings(state, want=asked.want, within=asked.within, progress=bar)
        return wanted.next_document(found, state)
    plan = wanted.plan_readings(
        state, asked.plan, want=asked.want, within=asked.within, progress=bar
    )
    return wanted.plan_document(plan, state)


def share(text: str, option: str = "--alike") -> float:
    """A share from an option: "5 %".

    Raises:
        CallError: it is none between 0 and 100 %.
    """
    from ohmbook.units.parse import parse_accuracy

    try:
        found = parse_accuracy(text, "1")
    except QuantityError as error:
        raise CallError(f"{option}: {error}") from error
    if not 0.0 < found.relative < 1.0:
        raise CallError(f'{option} "{text}": expected a share such as "5 %".')
    return found.relative


def meanings(text: str, kind: str | None) -> tuple[Meaning, ...]:
    """The meanings of a marking, of one kind of part or of all.

    Raises:
        CallError: there is no such kind.
        MarkingError: it has no meaning at all.
    """
    from ohmbook.units.marking import meanings as ranked

    if kind is not None and kind not in _KINDS:
        raise CallError(f'--kind "{kind}": expected one of {", ".join(_KINDS)}.')
    found = tuple(ranked(text, _KINDS[kind] if kind else None))
    if not found:
        raise MarkingError(text, f"nothing in it reads as a value of a {kind or 'part'}")
    return found


def hertz(text: str, option: str) -> float:
    """A frequency from an option: "5.6 kHz", or a bare number in Hz.

    Raises:
        CallError: it is no frequency above 0.
    """
    from ohmbook.units.parse import parse_quantity

    try:
        value = float(text)
    except ValueError:
        try:
            value = parse_quantity(text, "Hz").value
        except QuantityError as error:
            raise CallError(f"{option}: {error}") from error
    if not (isfinite(value) and value > 0.0):
        raise CallError(f'{option} "{text}": expected a frequency above 0 Hz, such as "1 kHz".')
    return value
