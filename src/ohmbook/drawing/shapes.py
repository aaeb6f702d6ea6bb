"""Networks to begin with, in the trade's terms: parts of unknown value, drawn and joined.

Which parts make which network is common to the handbooks of the trade; values are nobody's guess
here: every part is unknown until it is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from ohmbook.documents.drawing import Drawing
from ohmbook.documents.part import Capacitor, Driver, Inductor, Part, Resistor, Sketch
from ohmbook.drawing.lay_out import lay_out

_LETTERS = {"L": "inductor", "C": "capacitor", "R": "resistor"}
_RATED = "8 ohm"

# Each part by its name, with its two nodes; "gnd" is ground, "in" the input, "out" what follows.
# A name that is no letter and number is a driver's.
_BLOCKS: dict[str, str] = {
    "low-pass-1": "L1 in out",
    "low-pass-2": "L1 in out, C1 out gnd",
    "low-pass-3": "L1 in m, C1 m gnd, L2 m out",
    "high-pass-1": "C1 in out",
    "high-pass-2": "C1 in out, L1 out gnd",
    "high-pass-3": "C1 in m, L1 m gnd, C2 m out",
    "impedance-correction": "R1 in z, C1 z gnd",
    "series-trap": "L1 in p, C1 p q, R1 q gnd",
    "parallel-trap": "L1 in out, C1 in out, R1 in out",
    "pad": "R1 in out, R2 out gnd",
}
_WHOLE: dict[str, str] = {
    "two-way-1": "L1 in w, woofer w gnd, C1 in t, tweeter t gnd",
    "two-way-2": "L1 in w, C1 w gnd, woofer w gnd, C2 in t, L2 t gnd, tweeter t gnd",
    "three-way": (
        "L1 in w, C1 w gnd, woofer w gnd, C2 in a, L2 a gnd, L3 a m, C3 m gnd, midrange m gnd, "
        "C4 in t, L4 t gnd, tweeter t gnd"
    ),
    "series-network": "tweeter in m, L1 in m, woofer m gnd, C1 m gnd",
}


@dataclass(frozen=True, slots=True)
class Shape:
    """A network to begin with.

    Args:
        key: which.
        whole: whether it is a whole crossover, with its input and its drivers.
        parts: what each part is.
        drawing: how it lies, without names of nodes.
    """

    key: str
    whole: bool
    parts: Mapping[str, Part]
    drawing: Drawing

    def document(self) -> dict[str, Any]:
        """The shape as a JSON object."""
        parts = {name: raw_part(one) for name, one in self.parts.items()}
        return {
            "key": self.key,
            "whole": self.whole,
            "parts": parts,
            "drawing": self.drawing.plain(),
        }


@cache
def shapes() -> tuple[Shape, ...]:
    """Every shape, the whole crossovers first."""
    return (
        *(_shape(key, text, whole=True) for key, text in _WHOLE.items()),
        *(_shape(key, text, whole=False) for key, text in _BLOCKS.items()),
    )


def raw_part(part: Part) -> dict[str, Any]:
    """What a sheet says of a part of which nothing is known but what it is."""
    return {"kind": part.kind, **({"rated": _RATED} if part.kind == "driver" else {})}


def _shape(key: str, text: str, *, whole: bool) -> Shape:
    between = {
        name: (first, second) for name, first, second in (one.split() for one in text.split(", "))
    }
    parts = {name: _part(name) for name in between}
    nodes = {node for pair in between.values() for node in pair}
    outputs: dict[str, str | tuple[str, str]] = {"out": "out"} if "out" in nodes else {}
    drawn = lay_out(Sketch(input="in", outputs=outputs), parts, between)
    kept = tuple(one for one in drawn.marks if whole or one.kind == "ground")
    return Shape(key, whole, parts, drawn.model_copy(update={"names": (), "marks": kept}))


def _part(name: str) -> Part:
    kind = _LETTERS.get(name[0])
    if kind == "inductor":
        return Inductor(kind="inductor")
    if kind == "capacitor":
        return Capacitor(kind="capacitor")
    if kind == "resistor":
        return Resistor(kind="resistor")
    return Driver.model_validate({"kind": "driver", "rated": _RATED})
