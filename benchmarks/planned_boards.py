"""Boards read by plan, from an empty sheet: how well each coil and capacitor comes out, beside
plain grids.

    python -m benchmarks.planned_boards [two-way|three-way] [boards] [first seed]

A plan of 20 numbers on a two-way board: the generator's open amplitude (one number) and a plan of
19, for every part or for the coils and capacitors only; at once, or in two goes, the second
planned when the first is read. A three-way board: 60 numbers, opens counted, and the source check
if the plan asks for one. The plain grids have the source check and its open besides.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import log
from time import process_time

import numpy as np

import ohmbook
from benchmarks import simulate
from ohmbook.bench.estimates import Answer
from ohmbook.bench.validity import corrections
from ohmbook.counsel.wants import aim_at
from ohmbook.counsel.whole import whole_plan
from ohmbook.job.settled import fitted
from ohmbook.job.wanted import plan_document

Way = Callable[[simulate.Board, simulate.Bench], "Outcome"]

COILS_AND_CAPACITORS = ("coils", "capacitors")
PLAIN_HZ = tuple(float(f) for f in simulate.FREQUENCIES_HZ)
SPREAD_HZ = tuple(float(f"{f:.3g}") for f in np.geomspace(30.0, 20000.0, 19))
WIDE_HZ = tuple(float(f"{f:.3g}") for f in np.geomspace(30.0, 20000.0, 10))
EVERY_SECOND = ("w1", "w", "m1", "m", "t1", "t")
TOLERANCE = 0.05


@dataclass(frozen=True)
class Outcome:
    """One board, one way to read it.

    Args:
        errors: |ln(found / true)| of each coil and capacitor, by name.
        covered: how many of the 95 % intervals hold the truth.
        promised: half the 95 % interval that the plan foretold, by name.
        numbers: how many numbers were read, opens counted.
        seconds: of processor time for the plan.
    """

    errors: dict[str, float]
    covered: int
    promised: dict[str, float]
    numbers: int
    seconds: float

    @property
    def worst(self) -> float:
        """The largest error."""
        return max(self.errors.values())

    @property
    def named(self) -> frozenset[str]:
        """Which were said beforehand to need more."""
        return frozenset(name for name, half in self.promised.items() if half > TOLERANCE)

    @property
    def worst_unnamed(self) -> float:
        """The largest error among those that were not named beforehand."""
        return max((e for n, e in self.errors.items() if n not in self.named), default=0.0)

    @property
    def kept(self) -> int:
        """How many errors lie within what was promised."""
        return sum(error <= self.promised[name] for name, error in self.errors.items())


def planned(
    board: simulate.Board,
    bench: simulate.Bench,
    goes: Sequence[int] = (19,),
    want: Sequence[str] = (),
) -> Outcome:
    """Plan from an empty sheet, read what the plan asks for, put it in as it is filled, settle.

    Args:
        board: the truth.
        bench: the instruments.
        goes: how many numbers each plan may have; the open amplitude is one besides.
        want: as for `plan_readings`.
    """
    text, numbers, seconds = simulate.sheet(board, bench), 1, 0.0
    promised: dict[str, float] = {}
    for count in goes:
        began = process_time()
        answer = _answer(text)
        plan = whole_plan(answer, count, aim_at(answer, want, TOLERANCE))
        seconds += process_time() - began
        numbers += plan.numbers
        wanted = tomllib.loads(plan_document(plan)["plan"]["text"]).get("readings", [])
        taken = [simulate.take(board, bench, blank) for blank in wanted]
        text = "\n".join([text, *map(simulate.reading_text, taken)])
        promised = {one.name: one.after for one in plan.foreseen}
    return _outcome(board, text, promised, (numbers, seconds))


def gridded(
    board: simulate.Board,
    bench: simulate.Bench,
    frequencies: Sequence[float] = PLAIN_HZ,
    nodes: Sequence[str] = (),
) -> Outcome:
    """A plain grid at the input, with the source check."""
    rows = simulate.grid(board, bench, frequencies, nodes)
    text = simulate.sheet(board, bench, [simulate.check(board, bench), rows])
    numbers = len(frequencies) * len(nodes or board.nodes) + 2
    return _outcome(board, text, {}, (numbers, 0.0))


def _outcome(
    board: simulate.Board, text: str, promised: dict[str, float], said: tuple[int, float]
) -> Outcome:
    estimates = {(one.name, one.quantity): one for one in _answer(text).estimates()}
    errors, covered = {}, 0
    for name, quantity in board.main.items():
        here = estimates[name, quantity]
        true = board.parts[name].at(quantity, here.frequency_hz)
        errors[name] = abs(log(here.value / true))
        covered += here.low <= true <= here.high
    return Outcome(errors, covered, promised, *said)


def _answer(text: str) -> Answer:
    """Values and intervals as `settle` gives them, without what it says of them in words."""
    compiled, posterior, _ = fitted(ohmbook.read_sheet(text=text), seed=1)
    corrected, _ = corrections(Answer(compiled, posterior, {}), 0, None, 1)
    return Answer(compiled, posterior, corrected)


def _line(name: str, wanted: str, found: str) -> str:
    return f"{name:56}{wanted:>14}{found:>16}"


def table(ways: Mapping[str, list[Outcome]], asked: str) -> list[str]:
    """Wanted beside measured, for each way to read the boards.

    Args:
        ways: what came of each.
        asked: what is wanted of the worst part of a plan.
    """
    lines = [_line("", "wanted", "measured")]
    for name, found in ways.items():
        every = [e for one in found for e in one.errors.values()]
        held = sum(one.covered for one in found) / len(every)
        of = "at least half" if "plan" in name else "-"
        within = sum(one.worst <= TOLERANCE for one in found) / len(found)
        lines += [
            f"{name}: {len(found)} boards, at most {max(o.numbers for o in found)} numbers",
            _line(
                "  worst part, median board (quarter of the boards above)",
                asked if "plan" in name else "-",
                f"{_pc([one.worst for one in found])} ({_pc([o.worst for o in found], 0.75)})",
            ),
            _line("  boards with every part within 5 %", of, f"{100 * within:.0f} %"),
            _line("  any part, median", "-", _pc(every)),
            _line("  95 % intervals that hold the truth", "93 to 97 %", f"{100 * held:.1f} %"),
        ]
        if found[0].promised:
            lines += _of_the_plan(found, len(every))
    return lines


def _of_the_plan(found: Sequence[Outcome], parts: int) -> list[str]:
    kept = sum(one.kept for one in found) / parts
    named = sum(len(one.named & set(one.errors)) for one in found) / len(found)
    silent = sum(one.worst_unnamed > TOLERANCE for one in found) / len(found)
    seconds = float(np.median([one.seconds for one in found]))
    unnamed = [one.worst_unnamed for one in found]
    return [
        _line("  worst part not named beforehand, median board", "5.0 %", _pc(unnamed)),
        _line("  parts named beforehand, a board", "-", f"{named:.2f}"),
        _line("  boards with a part off by more and not named", "-", f"{100 * silent:.0f} %"),
        _line("  errors within what the plan promised", "95 %", f"{100 * kept:.1f} %"),
        _line("  planning, processor seconds (median)", "-", f"{seconds:.1f}"),
    ]


def _pc(values: Sequence[float], quantile: float = 0.5) -> str:
    return f"{100 * float(np.quantile(values, quantile)):.1f} %"


def read_by(
    draw: Callable[..., simulate.Board], real: bool, ways: Mapping[str, Way], seeds: Sequence[int]
) -> dict[str, list[Outcome]]:
    """Each way of reading on the same boards."""
    found: dict[str, list[Outcome]] = {name: [] for name in ways}
    for seed in seeds:
        for name, way in ways.items():
            rng = np.random.default_rng(seed)
            board = draw(rng, real=real)
            found[name].append(way(board, simulate.Bench(rng, real=real)))
        told = "  ".join(f"{100 * outcomes[-1].worst:.1f}" for outcomes in found.values())
        print(f"seed {seed}: worst part, % {told}", file=sys.stderr, flush=True)
    return found


def two_way(boards: int, first: int = 1) -> dict[str, list[Outcome]]:
    """Real-like two-way boards: 20 planned numbers, and the grid of 42."""
    ways: dict[str, Way] = {
        "plan of 20 for coils and capacitors": partial(planned, want=COILS_AND_CAPACITORS),
        "the same plan in two goes": partial(planned, goes=GOES, want=COILS_AND_CAPACITORS),
        "plan of 20 for every part": planned,
        "grid of 14 x 3": gridded,
    }
    return read_by(simulate.two_way, True, ways, range(first, first + boards))


GOES = (13, 6)
"""Numbers of the first go and the second, the open amplitude besides."""


def three_way(boards: int, real: bool, first: int = 1) -> dict[str, list[Outcome]]:
    """Three-way boards: 60 planned numbers for every part, and two grids with as many."""
    ways: dict[str, Way] = {
        "plan of 60 for every part": partial(planned, goes=(59,)),
        "grid of 19 x 3": partial(gridded, frequencies=SPREAD_HZ),
        "grid of 10 x 6": partial(gridded, frequencies=WIDE_HZ, nodes=EVERY_SECOND),
    }
    return read_by(simulate.three_way, real, ways, range(first, first + boards))


def main() -> None:
    """Print the tables."""
    kind = sys.argv[1] if len(sys.argv) > 1 else "two-way"
    boards = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    first = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    if kind == "two-way":
        print("\n".join(table(two_way(boards, first), "5.0 %")))
        return
    for real, asked in ((False, "3.0 %"), (True, "5.0 %")):
        print(f"\nthree-way, {'real-like' if real else 'ideal'}")
        print("\n".join(table(three_way(boards, real, first), asked)))


if __name__ == "__main__":
    main()
