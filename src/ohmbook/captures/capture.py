"""What a capture file holds once it is read: an axis, channels, and all that was taken for granted.

Everything is SI and unscaled. What the file states is used; what it doesn't state is asked for by
a `Question`, never guessed in silence; what had to be decided is told by an `Assumed`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Values = NDArray[Any]
"""One number a row, real or complex; float32 where that holds every sample exactly."""

Quantity = Literal["time", "frequency", "index"]
Form = Literal["oscilloscope", "sound", "Touchstone", "columns"]


@dataclass(frozen=True, slots=True, eq=False)
class Axis:
    """What the rows stand for.

    Args:
        quantity: "time" (s), "frequency" (Hz), or "index" where the interval is not known yet.
        values: shape (rows,), SI, increasing.
        even: the step where rows are evenly spaced (s or Hz), else 0.
    """

    quantity: Quantity
    values: Floats
    even: float = 0.0

    @property
    def unit(self) -> str:
        """Its SI unit; "" for an index."""
        return {"time": "s", "frequency": "Hz", "index": ""}[self.quantity]


@dataclass(frozen=True, slots=True, eq=False)
class Channel:
    """One column of numbers.

    Args:
        name: as the file has it ("CH1", "left").
        unit: SI ("V", "A", "ohm", "deg", "dB"), "1" for a plain ratio, "full scale" for sound,
            "count" for raw converter counts, "" where it is not known yet.
        values: shape (rows,), in that unit.
        u: standard uncertainties as the file states them, shape (rows,), or None.
    """

    name: str
    unit: str
    values: Values
    u: Floats | None = None


@dataclass(frozen=True, slots=True)
class Assumed:
    """One decision of the reader: what about, what was taken, and why."""

    what: str
    value: str
    why: str


@dataclass(frozen=True, slots=True)
class Question:
    """What the file leaves open.

    Args:
        key: under which the answer is given ("delimiter", "interval").
        text: the question, in words.
        choices: answers that can be picked; empty where a quantity is to be written.
        example: how an answer looks.
        default: what is taken until it is answered; "" where nothing is, and nothing can be
            worked out before.
    """

    key: str
    text: str
    choices: tuple[str, ...] = ()
    example: str = ""
    default: str = ""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to mind about the samples: what kind, and in words."""

    kind: Literal["clipping", "flat", "cycles", "samples", "time", "rate", "rows", "size", "phase"]
    message: str


@dataclass(frozen=True, slots=True, eq=False)
class Capture:
    """A capture file, read.

    Args:
        name: the file's name as it was given.
        form: which kind of file.
        axis: what the rows stand for; None where a question has to be answered first.
        channels: what was captured.
        assumed: every decision of the reader.
        questions: what the file leaves open.
        remarks: what to mind.
        sha256: of the original bytes, hexadecimal.
        size: of the original bytes.
        stated: what the file says about itself, by key, as written.
    """

    name: str
    form: Form
    axis: Axis | None
    channels: tuple[Channel, ...]
    assumed: tuple[Assumed, ...] = ()
    questions: tuple[Question, ...] = ()
    remarks: tuple[Remark, ...] = ()
    sha256: str = ""
    size: int = 0
    stated: Mapping[str, str] = field(default_factory=dict)

    @property
    def open(self) -> tuple[Question, ...]:
        """The questions without which nothing can be worked out."""
        return tuple(one for one in self.questions if not one.default)

    def channel(self, name: str) -> Channel | None:
        """The channel of that name, or None."""
        return next((one for one in self.channels if one.name == name), None)
