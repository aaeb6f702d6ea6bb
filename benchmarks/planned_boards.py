"""Boards read by a plan made at the start, from an empty sheet: how well each coil and capacitor
comes out, beside a plain grid.

    python -m benchmarks.planned_boards [two-way|three-way] [boards] [first seed]

A plan of 20 numbers on a two-way board: the generator's open amplitude (one number) and a plan of
19. A three-way board: 60 amplitudes, opens counted, and the source check.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from time import process_time

import numpy as np

import ohmbook
from benchmarks import simulate
from ohmbook.documents.reading import Sheet
from ohmbook.job.wanted import plan_document, plan_readings

PLAIN_HZ = tuple(float(f) for f in simulate.FREQUENCIES_HZ)
TOLERANCE = 0.05


@dataclass(frozen=True)
class Outcome:
    """One board, one way to read it.

    Args:
        errors: |ln(found / true)| of each coil and capacitor, by name.
        covered: how many of the 95 % intervals hold the truth.
        named: which were said beforehand to need more.
        numbers: how many numbers were read, opens counted.
        seconds: of processor time for the plan.
    """

    errors: dict[str, float]
    covered: int
    named: frozenset[str] = frozenset()
    numbers: int = 0
    seconds: float = 0.0

    @property
    def worst(self) -> float:
        """The largest error."""
        return max(self.errors.values())

    @property
    def worst_unnamed(self) -> float:
        """The largest error among those that were not named beforehand."""
        return max((e for n, e in self.errors.items() if n not in self.named), default=0.0)


def planned(board: simulate.Board, bench: simulate.Bench, numbers: int) -> Outcome:
    """Plan from an empty sheet, read what the plan asks for, put it in as it is filled, settle."""
    empty = _read(simulate.sheet(board, bench))
    began = process_time()
    plan = plan_readings(ohmbook.settle(empty), numbers - 1, within=TOLERANCE)
    seconds = process_time() - began
    wanted = tomllib.loads(plan_document(plan)["plan"]["text"])["readings"]
    taken = [simulate.take(board, bench, blank) for blank in wanted]
    named = frozenset(one.name for one in plan.beyond)
    return _outcome(board, bench, taken, (named, plan.numbers + 1, seconds))


def gridded(board: simulate.Board, bench: simulate.Bench, frequencies: Sequence[float]) -> Outcome:
    """A plain grid at the input, with the source check."""
    taken = [simulate.check(board, bench), simulate.grid(board, bench, frequencies)]
    numbers = len(frequencies) * len(board.nodes) + 2
    return _outcome(board, bench, taken, (frozenset(), numbers, 0.0))


def _outcome(
    board: simulate.Board,
    bench: simulate.Bench,
    taken: Sequence[simulate.Blank],
    said: tuple[frozenset[str], int, float],
) -> Outcome:
    settled = ohmbook.settle(_read(simulate.sheet(board, bench, taken)))
    errors, covered = {}, 0
    for name, quantity in board.main.items():
        here = settled.estimate(name, quantity)
        true = board.parts[name].at(quantity, here.frequency_hz)
        errors[name] = abs(log(here.value / true))
        covered += here.low <= true <= here.high
    return Outcome(errors, covered, *said)


def _read(text: str) -> Sheet:
    return ohmbook.read_sheet(text=text)


def _line(name: str, wanted: str, found: str) -> str:
    return f"{name:52}{wanted:>14}{found:>14}"


def table(ways: dict[str, list[Outcome]]) -> list[str]:
    """Wanted beside measured, for each way to read the boards."""
    lines = [_line("", "wanted", "measured")]
    for name, found in ways.items():
        worst = [one.worst for one in found]
        unnamed = [one.worst_unnamed for one in found]
        every = [e for one in found for e in one.errors.values()]
        held = sum(one.covered for one in found) / len(every)
        whole = sum(e <= TOLERANCE for e in unnamed) / len(found)
        asked = "5.0 %" if name.startswith("plan") else "-"
        lines += [
            f"{name}: {len(found)} boards, {np.median([o.numbers for o in found]):.0f} numbers",
            _line("  worst part not named before, median board", asked, f"{_pc(unnamed)}"),
            _line("  worst part, median board", "-", _pc(worst)),
            _line("  any part, median", "-", _pc(every)),
            _line("  boards with every part within 5 % or named", "-", f"{100 * whole:.0f} %"),
            _line("  95 % intervals that hold the truth", "93 to 97 %", f"{100 * held:.1f} %"),
        ]
        named = sum(len(one.named) for one in found) / len(found)
        if any(one.seconds for one in found):
            seconds = float(np.median([one.seconds for one in found]))
            lines += [
                _line("  parts named beforehand, a board", "-", f"{named:.2f}"),
                _line("  planning, processor seconds (median)", "20", f"{seconds:.1f}"),
            ]
    return lines


def _pc(values: Sequence[float]) -> str:
    return f"{100 * float(np.median(values)):.1f} %"


def two_way(boards: int, first: int = 1) -> dict[str, list[Outcome]]:
    """Real-like two-way boards: 20 planned numbers, and the grid of 42."""
    ways: dict[str, list[Outcome]] = {"plan of 20": [], "grid of 42": []}
    for seed in range(first, first + boards):
        for name, found in ways.items():
            rng = np.random.default_rng(seed)
            board, bench = simulate.two_way(rng, real=True), simulate.Bench(rng, real=True)
            plan = name.startswith("plan")
            found.append(planned(board, bench, 20) if plan else gridded(board, bench, PLAIN_HZ))
    return ways


def three_way(boards: int, first: int = 1) -> dict[str, list[Outcome]]:
    """Three-way boards, ideal and real-like: 60 planned amplitudes, and a grid with as many."""
    ways: dict[str, list[Outcome]] = {}
    for real in (False, True):
        kind = "real-like" if real else "ideal"
        for seed in range(first, first + boards):
            for plan in (True, False):
                rng = np.random.default_rng(seed)
                board = simulate.three_way(rng, real=real)
                bench = simulate.Bench(rng, real=real)
                way = f"{'plan' if plan else 'grid'} of 60, {kind}"
                count = 58 // len(board.nodes)
                grid_hz = [float(f"{f:.3g}") for f in np.geomspace(60.0, 19000.0, count)]
                one = planned(board, bench, 60) if plan else gridded(board, bench, grid_hz)
                ways.setdefault(way, []).append(one)
    return ways


def main() -> None:
    """Print the table."""
    kind = sys.argv[1] if len(sys.argv) > 1 else "two-way"
    boards = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    first = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    ways = (two_way if kind == "two-way" else three_way)(boards, first)
    print("\n".join(table(ways)))


if __name__ == "__main__":
    main()
