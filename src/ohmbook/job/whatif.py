"""A settled crossover laid out to be played with: its curves, its values, what they come to."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from ohmbook.circuit.network import Id
from ohmbook.crossover.behaviour import Behaviour
from ohmbook.documents.part import Driver
from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError
from ohmbook.job.crossing import behaviour
from ohmbook.job.mind import mind_behaviour
from ohmbook.job.moved import UNITS, Bench, Movable, bench
from ohmbook.job.packed import CURVES, Curves, packed
from ohmbook.job.settled import Settled
from ohmbook.job.width import Width, width_at
from ohmbook.report.behaviour import told
from ohmbook.report.moved import amplifier_lines, change_words, differences
from ohmbook.units.parse import parse_quantity
from ohmbook.units.show import show_percent, show_plain, split_interval

Lacking = Literal["parts", "drawing", "input", "outputs"]

REACH = 4.0
"""How many times as large, or as small, a value can be drawn at least."""

_BEYOND = 1.3
_COMMAND = re.compile(r"[.:;]? *What (would tell|to read first): ohmbook next[^.]*")
_FEWEST_SHARES = 0.02


@dataclass(frozen=True)
class Move:
    """A value moved by hand: SI, or as somebody typed it."""

    part: str
    quantity: str
    to: float | str
    exact: bool = False

    @property
    def id(self) -> Id:
        """Which value."""
        return self.part, self.quantity

    @property
    def value(self) -> float:
        """SI.

        Raises:
            QuantityError: what was typed is no such quantity.
        """
        if not isinstance(self.to, str):
            return self.to
        if self.quantity not in UNITS:
            raise CallError(f'There is no "{self.quantity}" to move.')
        return parse_quantity(self.to, UNITS[self.quantity]).value


def lacking(sheet: Sheet) -> tuple[Lacking, ...]:
    """What a sheet lacks before its crossover can be worked out.

    Args:
        sheet: a board's.
    """
    if not sheet.parts:
        return ("parts",)
    between = {} if sheet.sketch is None else sheet.sketch.between
    drawn = [name for name, one in sheet.parts.items() if one.between or name in between]
    if not drawn:
        return ("drawing",)
    found: list[Lacking] = []
    if sheet.sketch is None or sheet.sketch.input is None:
        found.append("input")
    drivers = [name for name in drawn if isinstance(sheet.parts[name], Driver)]
    if not drivers and not (sheet.sketch and sheet.sketch.outputs):
        found.append("outputs")
    return tuple(found)


@dataclass(frozen=True, eq=False)
class WhatIf:
    """A settled crossover with its curves.

    Args:
        bench: what is moved.
        still: its behaviour, nothing moved.
        mind: what is to be minded before it is relied on; None where nothing is.
    """

    bench: Bench
    still: Behaviour
    mind: str | None

    def settled(self, token: str) -> bytes:
        """The settled curves, packed, with all that a page shows beside them."""
        header = {
            "token": token,
            "outputs": list(self.bench.outputs),
            "values": [_value(one) for one in self.bench.movable.values()],
            **_sums(self.still),
            "places": _places(self.still),
            "mind": self.mind,
        }
        return packed(self.still, header, frequencies=True)

    def moved(
        self,
        moves: Sequence[Move],
        draws: int,
        *,
        curves: Collection[Curves] = CURVES,
        pins: Sequence[Sequence[Move]] = (),
    ) -> bytes:
        """The moved curves, packed, with how they differ in words.

        Args:
            moves: what was moved.
            draws: for the bands; a few while it moves, more at rest.
            curves: which are wanted.
            pins: other versions to be compared with.

        Raises:
            OhmbookError: a value that cannot be.
        """
        shown = self._curves(moves, draws)
        ratios = self.bench.factors({one.id: one.value for one in moves})
        header: dict[str, Any] = {
            "values": [_moved(one, ratios[one.id]) for one in moves],
            "told": list(differences(self.still, shown)),
            "pins": [list(differences(self._curves(pin, 0), shown)) for pin in pins],
        }
        if draws == self.still.draws:
            header |= _sums(shown)
        return packed(shown, header, curves=curves)

    def width(self, f_hz: float) -> list[dict[str, Any]]:
        """Where the settled curves' width at a frequency comes from, as JSON."""
        return [_width(one) for one in width_at(self.bench, f_hz)]

    def _curves(self, moves: Sequence[Move], draws: int) -> Behaviour:
        exact = frozenset(one.id for one in moves if one.exact)
        to = {one.id: one.value for one in moves}
        return self.bench.moved(to, draws, exact=exact, coarse=draws < self.still.draws)


def what_if(settled: Settled) -> WhatIf:
    """Lay a settled crossover out.

    Raises:
        OhmbookError: it has no input, no outputs or no answer.
    """
    mind = mind_behaviour(settled)
    plain = None if mind is None else _COMMAND.sub("", mind)
    return WhatIf(bench(settled), behaviour(settled), plain)


def _sums(shown: Behaviour) -> dict[str, Any]:
    """What curves come to, and what an amplifier sees, in words."""
    return {
        "summary": [{"title": title, "lines": list(lines)} for title, lines in told(shown)],
        "amplifier": list(amplifier_lines(shown)),
    }


def _value(one: Movable) -> dict[str, Any]:
    exact = one.low >= one.high
    shown = split_interval(one.value, one.low, one.high, one.unit)
    text = show_plain(one.value, one.unit, 3).split(" ") if exact else [shown.value, shown.unit]
    return {
        "part": one.id[0],
        "quantity": one.id[1],
        "kind": one.kind,
        "main": one.main,
        "value": one.value,
        "low": one.low,
        "high": one.high,
        "range": [
            min(one.value / REACH, one.low / _BEYOND),
            max(one.value * REACH, one.high * _BEYOND),
        ],
        "text": text[0],
        "unit": text[-1] if len(text) > 1 else "",
        "span": "" if exact else f"{shown.low} to {shown.high}",
        "at": "" if one.frequency_hz is None else show_plain(one.frequency_hz, "Hz", 2),
        "determined": one.determined,
    }


def _moved(one: Move, ratio: float) -> dict[str, Any]:
    number, _, unit = show_plain(one.value, UNITS[one.quantity], 3).partition(" ")
    return {
        "part": one.part,
        "quantity": one.quantity,
        "value": one.value,
        "text": number,
        "unit": unit,
        "change": change_words(ratio),
    }


def _places(still: Behaviour) -> list[dict[str, Any]]:
    """Where it is worth looking: crossings, and the lowest impedance."""
    found = [
        {"words": f"{one.between[0]} and {one.between[1]} cross", "f_hz": one.frequency_hz.value}
        for one in still.crossings
    ]
    lowest = {"words": "lowest impedance", "f_hz": still.minimum_impedance.frequency_hz}
    return [*found, lowest]


def _width(one: Width) -> dict[str, Any]:
    told = [(part, share) for part, share in one.parts if abs(share) >= _FEWEST_SHARES]
    rest = 1.0 - sum(share for _, share in told)
    half = (one.high - one.low) / 2.0
    size = f"{show_plain(half, '1', 2)} dB" if one.unit == "dB" else show_plain(half, "ohm", 2)
    return {
        "whose": one.whose,
        "half": size,
        "parts": [{"part": p, "share": share, "text": show_percent(share)} for p, share in told],
        "rest": rest if abs(rest) >= _FEWEST_SHARES else 0.0,
    }
