"""Two boards compared: how often a difference is seen, how well, and how often one is claimed.

    python -m benchmarks.compare_study [pairs [first seed]]

Pairs of real-like two-way boards read with one bench: the left by the plain grid of 42 amplitudes,
the right by the same grid, or by 12 amplitudes and the word that the boards are meant to be alike.
The parts of the right board lie within 2 % of the left's, but for one that is 20 % off (or none).
A difference is above what was read where it is more than that ratio's interval from the readings
alone with the allowance for so many parts compared at once (`ABOVE` half widths).
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from math import log
from time import process_time

import numpy as np

from benchmarks.simulate import FREQUENCIES_HZ, Bench, Board, check, grid, sheet, two_way
from ohmbook.documents.comparison import Comparison
from ohmbook.job.compare import compare
from ohmbook.sheet.read import read_sheet

FEW_HZ = (300, 1200, 3400, 9600)
OTHER_HZ = tuple(round(1.07 * f) for f in FREQUENCIES_HZ)
"""Beside the left's, so that equal boards are not rounded equally: a screen has no noise here."""
OFF, ALIKE = 0.20, 0.05
ABOVE = 1.7
"""Half widths of a 95 % interval that one of ten ratios must be off to be told with 95 % surety
(Bonferroni: 2.8 standard uncertainties) in all but a few cases (half a one more)."""


@dataclass(frozen=True)
class Trial:
    """One pair: what was made to differ, the true ratios, and what was found."""

    off: str | None
    ratios: dict[str, float]
    found: Comparison

    @property
    def seen(self) -> bool:
        return any(one.name == self.off and one.verdict == "differs" for one in self.found.parts)

    @property
    def suspected(self) -> bool:
        """Whether the part is told as one that may differ, with the advice to read more of it."""
        return any(one.name == self.off and one.probability > 0.5 for one in self.found.parts)

    @property
    def above(self) -> bool:
        """Whether the difference is more than what was read leaves open."""
        return any(
            log(1.0 + OFF) > ABOVE * 0.5 * log(one.read_high / one.read_low)
            for one in self.found.parts
            if one.name == self.off
        )

    @property
    def false_claims(self) -> list[str]:
        """Parts said to differ that were within what the boards were meant to be."""
        claimed = (one.name for one in self.found.parts if one.verdict == "differs")
        return [name for name in claimed if name != self.off]

    @property
    def covered(self) -> list[bool]:
        """Whether each interval of a ratio holds the truth, of parts that are told at all."""
        return [
            one.low <= self.ratios[one.name] <= one.high
            for one in self.found.parts
            if one.high / one.low < 2.0
        ]


def trial(seed: int, off: bool, few: bool, scatter: float) -> Trial:
    """One pair of boards, read and compared.

    Args:
        seed: of everything drawn.
        off: whether one part of the right board is 20 % off, up or down.
        few: 12 amplitudes of the right board and --alike, else 42 and nothing believed.
        scatter: how far the other parts lie from each other (limits, relative).
    """
    rng = np.random.default_rng(seed)
    left = two_way(rng, real=True)
    ratios = {n: 1.0 + scatter * rng.uniform(-1.0, 1.0) for n in left.parts if n[0] in "LCR"}
    name = str(rng.choice(list(left.main))) if off else None
    if name is not None:
        ratios[name] = 1.0 + OFF if rng.random() < 0.5 else 1.0 / (1.0 + OFF)
    right = _moved(left, ratios)
    bench = Bench(rng, real=True)
    checked = check(left, bench)
    first = sheet(left, bench, [checked, grid(left, bench)])
    other = sheet(right, bench, [checked, grid(right, bench, FEW_HZ if few else OTHER_HZ)])
    sheets = read_sheet(text=first), read_sheet(text=other)
    return Trial(name, ratios, compare(*sheets, alike=ALIKE if few else None))


def _moved(board: Board, ratios: dict[str, float]) -> Board:
    parts = {
        n: replace(p, value=p.value * ratios[n]) if n in ratios else p
        for n, p in board.parts.items()
    }
    return replace(board, parts=parts)


STUDIES = (
    ("none differs, 42 + 42", False, False, 0.0),
    ("none differs, 42 + 12, alike", False, True, 0.02),
    ("one 20 % off, 42 + 42", True, False, 0.0),
    ("one 20 % off, 42 + 12, alike", True, True, 0.02),
)


def told(words: str, trials: dict[int, Trial]) -> str:
    """A row of the table, and the seeds of pairs where something went wrong."""
    every = trials.values()
    above = [seed for seed, one in trials.items() if one.above]
    unseen = [seed for seed in above if not trials[seed].seen]
    missed = [seed for seed in unseen if not trials[seed].suspected]
    claims = [seed for seed, one in trials.items() if one.false_claims]
    cover = np.mean([held for one in every for held in one.covered])
    seen, likely = len(above) - len(unseen), len(unseen) - len(missed)
    share = f"{seen:3d} + {likely:2d} of {len(above):3d}" if above else "-".rjust(15)
    line = f"{words:<29} {len(trials):5d}  {share}  {len(claims):15d}  {cover:5.3f}"
    return f"{line}   missed {missed}, claims {claims}"


def main() -> None:
    """Print the table: pairs, then the first seed, may be given."""
    pairs, first = ([int(word) for word in sys.argv[1:]] + [100, 7000][len(sys.argv) - 1 :])[:2]
    print(
        "wanted: above what was read, all seen (+ told as may differ)",
        "claims in at most 5 % of pairs; cover >= 0.93",
        sep="; ",
    )
    print("study                         pairs       above seen  false claims in  cover")
    for words, off, few, scatter in STUDIES:
        began = process_time()
        seeds = range(first, first + pairs)
        trials = {seed: trial(seed, off, few, scatter) for seed in seeds}
        print(told(words, trials), f"({(process_time() - began) / pairs:.2f} s a pair)", flush=True)


if __name__ == "__main__":
    main()
