"""The demo's board over many noise seeds: do the intervals hold what they promise?

    python -m benchmarks.demo_study [SEEDS]

Prints the share of determined quantities whose truth is inside the 95 % interval, the root mean
square of (estimate - truth) / u, and the errors of inductances and capacitances.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np

import ohmbook
from benchmarks.demo_board import TRUTH, sheet


@dataclass(frozen=True)
class Outcome:
    """One determined quantity of one seed: inside, z, relative error."""

    name: str
    quantity: str
    inside: bool
    z: float
    error: float


def truth_at(name: str, quantity: str, f_hz: float | None) -> float:
    """The stated truth, carried to a frequency."""
    part = TRUTH[name]
    value = part[quantity]
    return value if f_hz is None else value * (f_hz / 1000.0) ** -part.get("loss", 0.0)


def outcomes(seed: int) -> list[Outcome]:
    """Settle one seed's sheet and hold it against the truth."""
    settled = ohmbook.settle(ohmbook.read_sheet(text=sheet(seed)))
    found = []
    for one in settled.estimates:
        if not one.determined:
            continue
        true = truth_at(one.name, one.quantity, one.frequency_hz)
        z = np.log(one.value / true) / (one.standard_uncertainty / one.value)
        found.append(
            Outcome(
                one.name,
                one.quantity,
                one.low <= true <= one.high,
                float(z),
                abs(one.value / true - 1.0),
            )
        )
    return found


def main(seeds: int = 50) -> None:
    """Run the study and print its table."""
    found = [one for seed in range(1, seeds + 1) for one in outcomes(seed)]
    errors = [one.error for one in found if one.quantity != "resistance"]
    print(f"{seeds} seeds, {len(found)} determined quantities")
    print(f"truth inside the 95 % interval   {100 * np.mean([one.inside for one in found]):.1f} %")
    print(f"rms of (estimate - truth)/u      {np.sqrt(np.mean([one.z**2 for one in found])):.3f}")
    print(f"median error of L and C          {100 * np.median(errors):.2f} %")
    print(f"worst error of L and C           {100 * max(errors):.2f} %")
    names = dict.fromkeys((one.name, one.quantity) for one in found)
    for name, quantity in names:
        own = [one for one in found if (one.name, one.quantity) == (name, quantity)]
        print(
            f"  {name:10s}{quantity:13s} inside {100 * np.mean([o.inside for o in own]):5.1f} %"
            f"  of {len(own):2d}  median error {100 * np.median([o.error for o in own]):.2f} %"
        )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:2]))
