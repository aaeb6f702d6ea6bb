"""Whole two-way boards settled from a plain grid: fourteen frequencies, three nodes.

    python -m benchmarks.boards [BOARDS] [SEED]

Where the bench is ideal the bound is printed besides (`benchmarks.boards_bound`): no estimator
does better with the same readings and beliefs.

Ten parts besides the two drivers, which are detached; nodes m, w, t and the source check are read,
44 amplitudes in all. Ideal boards, ideal boards drawn far from what is believed before, and
real-like boards (`benchmarks.simulate`). Prints what is wanted beside what was measured.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from dataclasses import dataclass, replace
from math import log
from typing import Any

import numpy as np

import ohmbook
from benchmarks.boards_bound import Floor, foreseen
from benchmarks.simulate import Bench, Board, Lie, check, grid, sheet, two_way

FACTOR = 1.35
FLAGGED = 1e-3


@dataclass(frozen=True)
class Told:
    """One estimate against the truth: z is (estimate - truth) / u, off is ln(estimate / truth), and
    reach is how far its own interval lets it be off, likewise."""

    name: str
    quantity: str
    main: bool
    determined: bool
    inside: bool
    z: float
    off: float
    reach: float


@dataclass(frozen=True)
class Outcome:
    """One board settled; `least` is the bound of each coil's and capacitor's error."""

    told: tuple[Told, ...]
    p_value: float
    modes: int
    seconds: float
    least: dict[str, float] | None = None

    @property
    def errors(self) -> dict[str, float]:
        """Relative error of every coil and capacitor."""
        return {one.name: abs(one.off) for one in self.told if one.main}

    @property
    def within(self) -> bool:
        """Whether every coil and capacitor is within the factor of the truth."""
        return max(self.errors.values()) < log(FACTOR)

    @property
    def within_determined(self) -> bool:
        """The same of those that are called determined."""
        return all(abs(one.off) < log(FACTOR) for one in self.told if one.main and one.determined)

    @property
    def claimed(self) -> bool:
        """Whether every coil's and capacitor's own interval lies within the factor of its value."""
        return all(one.reach < log(FACTOR) for one in self.told if one.main)

    @property
    def unforeseen(self) -> int:
        """Coils and capacitors beyond the factor whose own intervals deny it."""
        limit = log(FACTOR)
        return sum(one.reach < limit <= abs(one.off) for one in self.told if one.main)


def held_against(board: Board, settled: ohmbook.Settled) -> tuple[Told, ...]:
    """Every estimate of a part that was read against its truth."""
    found = []
    for one in settled.estimates:
        part = board.parts.get(one.name)
        if part is None or part.kind == "driver":
            continue
        true = part.at(one.quantity, one.frequency_hz)
        off = log(one.value / true)
        z = off * one.value / one.standard_uncertainty
        main = board.main.get(one.name) == one.quantity
        inside = one.low <= true <= one.high
        reach = log(max(one.high / one.value, one.value / one.low))
        found.append(Told(one.name, one.quantity, main, one.determined, inside, z, off, reach))
    return tuple(found)


BELIEVED_OHM = {
    "inductor": (0.4, 2.5),
    "film": (0.02, 3.0),
    "electrolytic": (0.2, 3.0),
}
BELIEVED_LOSS = {"inductor": 0.02, "capacitor": 0.01}
"""What ohmbook believes of series resistances (centre, factor) and loss exponents (0 within)."""


def as_believed(board: Board, rng: np.random.Generator) -> Board:
    """The board with its parts' losses drawn from what ohmbook believes of such parts.

    An ideal board's coils and capacitors have a loss exponent of exactly 0 and series resistances
    near the middle of what is believed, so that intervals wide enough for all that may be are
    wider than these boards need. Drawn from the beliefs themselves, 95 % must be 95 %.
    """
    parts = {}
    for name, part in board.parts.items():
        if part.kind in BELIEVED_LOSS:
            centre, factor = BELIEVED_OHM[part.said.get("dielectric", part.kind)]
            ohm = centre * factor ** rng.standard_normal()
            loss = BELIEVED_LOSS[part.kind] * rng.standard_normal()
            part = replace(part, ohm=ohm, loss=loss)
        parts[name] = part
    return replace(board, parts=parts)


def settle_one(
    rng: np.random.Generator, real: bool = False, lie: Lie = "usual", believed: bool = False
) -> Outcome:
    """Draw a board, read it, settle it."""
    board, bench = two_way(rng, real, lie), Bench(rng, real)
    if believed:
        board = as_believed(board, rng)
    text = sheet(board, bench, [check(board, bench), grid(board, bench)])
    read = ohmbook.read_sheet(text=text)
    start = time.process_time()
    settled = ohmbook.settle(read)
    seconds = time.process_time() - start
    p_value = settled.consistency.p_value
    modes = len(settled.posterior.modes)
    least = None if real or believed else Floor(board, bench).least()
    agree = 1.0 if p_value is None else p_value
    return Outcome(held_against(board, settled), agree, modes, seconds, least)


@dataclass(frozen=True)
class Study:
    """Many boards of a kind."""

    outcomes: tuple[Outcome, ...]

    @property
    def told(self) -> list[Told]:
        """Every determined estimate."""
        return [one for outcome in self.outcomes for one in outcome.told if one.determined]

    @property
    def cover(self) -> float:
        """Share of 95 % intervals of determined quantities that hold the truth."""
        return float(np.mean([one.inside for one in self.told]))

    @property
    def median(self) -> float:
        """Median relative error over all inductances and capacitances."""
        return float(np.median([e for one in self.outcomes for e in one.errors.values()]))

    @property
    def by_part(self) -> dict[str, float]:
        """Median relative error of each coil and capacitor."""
        names = self.outcomes[0].errors
        return {n: float(np.median([one.errors[n] for one in self.outcomes])) for n in names}

    @property
    def undetermined(self) -> Counter[str]:
        """How often each quantity was said not to be determined."""
        every = [one for outcome in self.outcomes for one in outcome.told]
        return Counter(f"{one.name} {one.quantity}" for one in every if not one.determined)

    def share(self, name: str) -> float:
        """Share of boards with a property."""
        return float(np.mean([getattr(one, name) for one in self.outcomes]))

    @property
    def beyond(self) -> int:
        """How many coils and capacitors are beyond the factor."""
        limit = log(FACTOR)
        return sum(error >= limit for one in self.outcomes for error in one.errors.values())

    @property
    def claims(self) -> tuple[int, int]:
        """Boards whose own intervals all lie within the factor, and how many of them are right."""
        claiming = [one for one in self.outcomes if one.claimed]
        return len(claiming), sum(one.within for one in claiming)

    @property
    def flagged(self) -> int:
        """Right sketches said to be wrong."""
        return sum(one.p_value < FLAGGED for one in self.outcomes)

    @property
    def rms_z(self) -> float:
        """Root mean square of (estimate - truth) / u."""
        return float(np.sqrt(np.mean([one.z**2 for one in self.told])))

    @property
    def seconds(self) -> float:
        """Median process time of a settle."""
        return float(np.median([one.seconds for one in self.outcomes]))


def study(boards: int, seed: int, **kind: Any) -> Study:
    """Settle so many boards."""
    rng = np.random.default_rng(seed)
    return Study(tuple(settle_one(rng, **kind) for _ in range(boards)))


def table(name: str, found: Study, median: float, worst: float) -> None:
    """Print one study, wanted beside measured."""
    by_part = found.by_part
    slowest = max(by_part, key=lambda part: by_part[part])
    claims, right = found.claims
    unforeseen = sum(one.unforeseen for one in found.outcomes)
    rows = [
        ("95 % intervals hold the truth", "93 to 97 %", f"{100 * found.cover:.1f} %"),
        ("rms of (estimate - truth) / u", "1", f"{found.rms_z:.2f}"),
        ("median error, all L and C", f"{median} %", f"{100 * found.median:.2f} %"),
        ("worst part's median", f"{worst} %", f"{100 * by_part[slowest]:.2f} % ({slowest})"),
        ("all L and C within 1.35", "99 %", f"{100 * found.share('within'):.1f} %"),
        ("  those called determined", "", f"{100 * found.share('within_determined'):.1f} %"),
        ("  beyond it, own interval denies", "0", f"{unforeseen} of {found.beyond}"),
        ("  boards that claim all, and are", "all", f"{right} of {claims}"),
        ("right sketches flagged", "0", f"{found.flagged}"),
        ("a settle, median", "50 ms", f"{1e3 * found.seconds:.0f} ms"),
        ("boards with several answers", "", f"{sum(one.modes > 1 for one in found.outcomes)}"),
    ]
    print(f"{name}, {len(found.outcomes)} boards{'wanted':>20s}   measured")
    for what, wanted, measured in rows:
        print(f"  {what:34s}{wanted:>10s}   {measured}")
    least = [one.least for one in found.outcomes if one.least is not None]
    if least:
        best = foreseen(least, FACTOR)
        print(
            f"  at best, by the bound: median {100 * best['all']:.2f} %, {slowest} "
            f"{100 * best[slowest]:.2f} %, within 1.35 on {100 * best['within']:.1f} %"
        )
    listed = ", ".join(f"{what} {n}" for what, n in found.undetermined.most_common())
    print(f"  said not to be determined: {listed or 'none'}", flush=True)


def main(boards: int = 300, seed: int = 1) -> None:
    """Run the three studies."""
    study(2, 0)  # warm
    table("Ideal", study(boards, seed), 1.2, 2.2)
    table("Ideal, far from the priors", study(boards, seed + 1, lie="far"), 1.2, 2.2)
    table("Real-like", study(boards, seed + 2, real=True), 1.7, 4.5)
    table("Ideal bench, losses as believed", study(boards, seed + 4, believed=True), 1.2, 2.2)
    table("Ideal, scattered", study(boards, seed + 3, lie="scattered"), 1.2, 2.2)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
