"""A small settled bench, made up: the numbers stand for nothing but themselves."""

from __future__ import annotations

from rich.console import Console, RenderableType

from ohmbook.circuit.network import Branch, Drive, Network
from ohmbook.documents.estimate import CauseShare, Estimate, Step, Working
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.documents.setup import Clip, SetUp

ESTIMATES = (
    Estimate(
        "L1", "inductance", 8.2e-4, 1.2e-5, 7.97e-4, 8.44e-4, "H", True, 1800.0, "12 readings"
    ),
    Estimate("L1", "resistance", 0.31, 0.05, 0.22, 0.42, "ohm", True, None, "3 readings"),
    Estimate(
        "C1", "capacitance", 8.2e-6, 5e-6, 1.2e-6, 4.4e-5, "F", False, 5e3, "hardly any reading"
    ),
    Estimate("R1", "resistance", 4.7, 0.0, 4.7, 4.7, "ohm", True, None, "stated"),
    Estimate("generator", "resistance", 50.49, 0.4, 49.7, 51.3, "ohm", True, None, "1 reading"),
)

SLIP = Finding(
    "slip",
    "reading 3 fits nothing",
    ("reading 3",),
    ("L1",),
    (Explanation("a decimal point", "0.34 V for 3.4 V", 0.83), Explanation("a misread range")),
)
ASSUMED = Finding("assumption", "scope: gain 3 % (like entry-level scope)")
WARNED = Finding("caution", "Discharge first.")
FINDINGS = (ASSUMED, SLIP, WARNED)

NETWORK = Network((Branch("coil", "inductor", ("out", "com")),), Drive(("out", "com"), "generator"))
SET_UP = SetUp(
    "coil alone across generator",
    NETWORK,
    (
        Clip("source", "generator", "+", "out"),
        Clip("scope", "scope", "ground", "com"),
    ),
    ("The ground clip is earth.", "Discharge first."),
)
SET_UPS = (("reading 1", SET_UP), ("reading 2", SET_UP))

BUDGET = (
    CauseShare("the generator's output resistance", 0.93, "measure it"),
    CauseShare("gain of scope", 0.04),
    CauseShare("step of scope", 0.03),
)

WORKING = Working(
    "Inductance of coil",
    "reading 1",
    (Step("Half the amplitude", "X = 50 / sqrt 3", "28.9 Ω"), Step("Then", "L = X / w", "0.82 mH")),
    "common practice, no source",
    "The full model adds the winding's resistance: 0.2 %.",
)


def printed(renderable: RenderableType, width: int = 80) -> str:
    """What a plain terminal of a width shows."""
    console = Console(width=width, color_system=None, highlight=False, force_terminal=False)
    with console.capture() as capture:
        console.print(renderable)
    lines = [line.rstrip() for line in capture.get().splitlines()]
    assert all(len(line) <= width for line in lines)
    return "\n".join(lines)
