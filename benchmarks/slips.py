"""Slips of the pen on random two-way boards: found, named, and no false alarms?

    python -m benchmarks.slips [BOARDS] [SEED]

One real-like board after another, read at fourteen frequencies and three nodes, and its source
checked. One mistake is written into a copy of its sheet, such that the reading then lies more than
8 standard deviations of its deleted residual off (drawn anew until it does). Counted: is the
reading named by a finding, is the mistake among those named, and is anything told of the sheet as
it was.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import pi, sqrt
from time import process_time
from typing import Any

import numpy as np

import ohmbook
from benchmarks.simulate import Bench, Board, check, grid, sheet, take, two_way
from ohmbook.evidence import strains
from ohmbook.job import Settled

FAR_SD = 8.0
Cells = list[list[str]]
RNG = np.random.Generator


@dataclass(frozen=True)
class Drawn:
    """A sheet with one mistake.

    Args:
        kind: which.
        text: the sheet.
        reading: name of the reading that is wrong.
        words: a piece of the finding's explanation that names the mistake.
    """

    kind: str
    text: str
    reading: str
    words: str


@dataclass(frozen=True)
class Evening:
    """A board, a bench and what was read."""

    board: Board
    bench: Bench
    check: Mapping[str, Any]
    grid: Mapping[str, Any]

    def text(self, **changed: Any) -> str:
        """The sheet, with keys of the table's reading or of the check's (`check_open`) changed."""
        own = {k.removeprefix("check_"): v for k, v in changed.items() if k.startswith("check_")}
        table = {k: v for k, v in changed.items() if not k.startswith("check_")}
        return sheet(self.board, self.bench, [{**self.check, **own}, {**self.grid, **table}])

    @property
    def cells(self) -> Cells:
        """The table, headings first."""
        return [line.split() for line in str(self.grid["table"]).splitlines()]


def evening(seed: int) -> Evening:
    """One real-like board and what was read of it."""
    rng = np.random.default_rng(seed)
    board, bench = two_way(rng, real=True), Bench(rng, real=True)
    return Evening(board, bench, check(board, bench), grid(board, bench))


# -- the mistakes, each written by its own few lines -------------------------------------------


def _scaled(number: str, factor: float) -> str:
    return f"{float(number) * factor:.10g}"


def _swap(number: str, rng: RNG) -> str:
    places = [k for k in range(len(number) - 1) if number[k].isdigit() and number[k + 1].isdigit()]
    if not places:
        return number
    k = int(rng.choice(places))
    return number[:k] + number[k + 1] + number[k] + number[k + 2 :]


def _drop(number: str, rng: RNG) -> str:
    places = [k for k in range(len(number)) if number[k].isdigit()]
    k = int(rng.choice(places))
    left = number[:k] + number[k + 1 :]
    return left if left.strip("0.") and left[-1] != "." and left[0] != "." else number


def _double(number: str, rng: RNG) -> str:
    places = [k for k in range(len(number)) if number[k].isdigit()]
    k = int(rng.choice(places))
    return number[: k + 1] + number[k] + number[k + 1 :]


def _amplitude(change: Callable[[str, RNG], str]) -> Callable[[Evening, RNG], str]:
    return lambda one, rng: _cell(one, rng, int(rng.integers(1, 4)), change)


def _frequency(change: Callable[[str, RNG], str]) -> Callable[[Evening, RNG], str]:
    return lambda one, rng: _cell(one, rng, 0, change)


def _cell(one: Evening, rng: RNG, column: int, change: Callable[[str, RNG], str]) -> str:
    cells = one.cells
    row = int(rng.integers(1, len(cells)))
    cells[row][column] = change(cells[row][column], rng)
    return one.text(table=_joined(cells))


def _joined(cells: Cells) -> str:
    return "\n".join("  ".join(row) for row in cells)


def _node(one: Evening, rng: RNG) -> str:
    """The probe on a node that a part joins to the one it should have been on."""
    cells = one.cells
    column, row = int(rng.integers(1, 4)), int(rng.integers(1, len(cells)))
    node = cells[0][column].split("/")[0]
    near = sorted(
        {
            other
            for part in one.board.parts.values()
            if part.ends and node in part.ends and part.kind != "driver"
            for other in part.ends
            if other not in (node, one.board.ground)
        }
    )
    there = str(rng.choice(near))
    blank = {
        "kind": "probe",
        "at": "in",
        "detached": list(one.board.drivers),
        "frequency": f"{cells[row][0]} Hz",
        "amplitudes": {there: ""},
    }
    read = take(one.board, one.bench, blank)["amplitudes"][there]
    cells[row][column] = read.removesuffix(" mVpp")
    return one.text(table=_joined(cells))


def _check_open(factor: Callable[[Evening], float]) -> Callable[[Evening, RNG], str]:
    def written(one: Evening, rng: RNG) -> str:  # noqa: ARG001
        number = str(one.check["open"]).removesuffix(" mVpp")
        return one.text(check_open=f"{_scaled(number, factor(one))} mVpp")

    return written


def _either(*factors: float) -> Callable[[str, RNG], str]:
    return lambda number, rng: _scaled(number, float(rng.choice(factors)))


KINDS: dict[str, tuple[Callable[[Evening, RNG], str], str, str]] = {
    "prefix": (_amplitude(_either(1e3, 1e-3)), "reading 2", "prefix"),
    "decimal point": (_amplitude(_either(10.0, 0.1)), "reading 2", "decimal point"),
    "10x probe": (_amplitude(_either(10.0, 0.1)), "reading 2", "10x"),
    "digits swapped": (_amplitude(_swap), "reading 2", "swapped"),
    "digit dropped": (_amplitude(_drop), "reading 2", "dropped"),
    "digit doubled": (_amplitude(_double), "reading 2", "doubled"),
    "rms for pp": (_amplitude(_either(0.5 / sqrt(2.0))), "reading 2", "rms"),
    "peak for pp": (_amplitude(_either(0.5)), "reading 2", "peak"),
    "another node": (_node, "reading 2", "node"),
    "frequency, factor of ten": (_frequency(_either(10.0, 0.1)), "reading 2", "decimal point"),
    "frequency, swapped": (_frequency(_swap), "reading 2", "swapped"),
    "frequency, radians": (_frequency(_either(2 * pi)), "reading 2", "radians"),
    "open for a 50 ohm load": (_check_open(lambda _: 0.5), "check", "display"),
}
"""How each mistake is written, in which reading, and a word by which it is named."""


def drawn(one: Evening, clean: Settled, kind: str, rng: RNG) -> Drawn | None:
    """A mistake of one kind that moves its reading far enough; None where none was met."""
    write, reading, words = KINDS[kind]
    for _ in range(40):
        text = write(one, rng)
        if moved_by(clean, text) > FAR_SD:
            return Drawn(kind, text, reading, words)
    return None


def moved_by(clean: Settled, text: str) -> float:
    """How far a change of the sheet moves a reading against what the rest makes of it, in standard
    deviations of its deleted residual; the farthest one."""
    from ohmbook.bench.compile import compile_sheet

    before = clean.answer.compiled
    after = compile_sheet(ohmbook.read_sheet(text=text))
    known = dict(zip(before.ids, clean.posterior.x, strict=True))
    if any(one not in known and one[1][:4] != "gain" for one in after.ids):
        known |= {one: 0.0 for one in after.ids if one not in known}
    x = np.array([[known.get(one, 0.0) for one in after.ids]])
    off = after.observed - after.predict(x)[0]
    was = before.observed - before.predict(clean.posterior.x[None, :])[0]
    sd = {s.label: abs(s.shift / s.residual) for s in strains(clean.posterior) if s.residual}
    moved = [
        abs(a - b) / sd[label]
        for label, a, b in zip(before.labels, off, was, strict=True)
        if label in sd
    ]
    return float(max(moved))


def outcome(case: Drawn) -> tuple[bool, bool, Settled]:
    """Whether the reading is named, and the mistake among those named."""
    settled = ohmbook.settle(ohmbook.read_sheet(text=case.text))
    told = [one for one in settled.findings if one.kind in ("slip", "strained")]
    here = [one for one in told if case.reading in one.readings]
    named = any(case.words in why.what for one in here for why in one.explanations)
    return bool(here), named, settled


def study(boards: int, seed: int) -> None:
    """Print found and named by kind, and false alarms."""
    kinds = list(KINDS)
    tally: dict[str, list[tuple[bool, bool]]] = {kind: [] for kind in kinds}
    alarms, clean_s, slip_s = 0, [], []
    for k in range(boards):
        one = evening(seed + k)
        begun = process_time()
        clean = ohmbook.settle(ohmbook.read_sheet(text=one.text()))
        clean_s.append(process_time() - begun)
        alarm = [f for f in clean.findings if f.kind in ("slip", "strained", "sketch doubt")]
        alarms += bool(alarm)
        for f in alarm[:1]:
            print(f"  false alarm, seed {seed + k}: {f.message[:150]}", flush=True)
        kind = kinds[k % len(kinds)]
        case = drawn(one, clean, kind, np.random.default_rng([seed, k]))
        if case is None:
            continue
        begun = process_time()
        found, named, settled = outcome(case)
        slip_s.append(process_time() - begun)
        tally[kind].append((found, named))
        if not named:
            _tell_missed(seed + k, case, settled)
    _table(tally, alarms, boards)
    print(
        f"settle of a right sheet {np.median(clean_s):.2f} s, of a wrong one "
        f"{np.median(slip_s):.2f} s (median, processor time)"
    )


def _tell_missed(seed: int, case: Drawn, settled: Settled) -> None:
    told = [f for f in settled.findings if f.kind in ("slip", "strained")]
    print(f"  not named, seed {seed}: {case.kind}", flush=True)
    for f in told[:2]:
        print(f"    {f.message[:120]}", flush=True)
        for why in f.explanations[:3]:
            print(f"      {why.what}: {why.probability:.3g}", flush=True)


def _table(tally: Mapping[str, list[tuple[bool, bool]]], alarms: int, boards: int) -> None:
    print(f"{'mistake':<26} {'boards':>6} {'found':>7} {'named':>7}")
    for kind, rows in tally.items():
        if rows:
            found, named = (100.0 * sum(x) / len(rows) for x in zip(*rows, strict=True))
            print(f"{kind:<26} {len(rows):>6} {found:>6.1f}% {named:>6.1f}%")
    every = [row for rows in tally.values() for row in rows]
    found, named = (100.0 * sum(x) / len(every) for x in zip(*every, strict=True))
    print(f"{'all':<26} {len(every):>6} {found:>6.1f}% {named:>6.1f}%   wanted 97 %, 90 %")
    print(f"false alarms {alarms} of {boards}; wanted at most 3 of 300")


def main() -> None:
    """Run the study."""
    boards = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    study(boards, int(sys.argv[2]) if len(sys.argv) > 2 else 1)


if __name__ == "__main__":
    main()
