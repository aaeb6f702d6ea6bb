"""Slips of the pen on random two-way boards: found, named, and no false alarms?

    python -m benchmarks.slips [BOARDS] [SEED]

One real-like board after another, read at fourteen frequencies and three nodes, and its source
checked. One mistake is written into a copy of its sheet, such that the reading then lies more than
8 standard deviations of its deleted residual off (drawn anew until it does). Counted, strictly:

- found: a slip is told, and it points at the very number (the reading, the row and the column)
  that is wrong, as what is to be corrected or among what is listed with odds;
- named: the mistake's own id is among those listed at that very place (never a word of the text);
- innocent: another number is called into question besides;
- false alarms: anything told of the sheet as it was.
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
from ohmbook.counsel.rivals import Slip
from ohmbook.counsel.screening import Supposed
from ohmbook.counsel.slip_words import shown
from ohmbook.evidence import strains
from ohmbook.job import Settled

FAR_SD = 8.0
Cells = list[list[str]]
RNG = np.random.Generator
Place = tuple[tuple[str, int | str], tuple[str | int, ...]]
"""Owner and key of what is written somewhere, as `counsel.sites` has them."""

GRID, CHECK = ("readings", 1), ("readings", 0)
Written = tuple[str, Place]
Write = Callable[["Evening", RNG], Written]


@dataclass(frozen=True)
class Drawn:
    """A sheet with one mistake.

    Args:
        kind: which.
        text: the sheet.
        place: where it was made.
        mistake: its id among the mistakes the product knows.
        node: under which the number stands; None where it is no amplitude of the table.
    """

    kind: str
    text: str
    place: Place
    mistake: str
    node: str | None


@dataclass(frozen=True)
class Evening:
    """A board, a bench and what was read."""

    board: Board
    bench: Bench
    check: Mapping[str, Any]
    grid: Mapping[str, Any]

    def text(self, source_open: str | None = None, **changed: Any) -> str:
        """The sheet, with keys of the table's reading or of the check's (`check_open`) changed; the
        source's own open amplitude stated, or taken from the check."""
        own = {k.removeprefix("check_"): v for k, v in changed.items() if k.startswith("check_")}
        table = {k: v for k, v in changed.items() if not k.startswith("check_")}
        text = sheet(self.board, self.bench, [{**self.check, **own}, {**self.grid, **table}])
        return text if source_open is None else text.replace('"@check"', f'"{source_open} mVpp"')

    @property
    def open_mvpp(self) -> str:
        """The open amplitude as read, without its unit."""
        return str(self.check["open"]).removesuffix(" mVpp")

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


def _amplitude(change: Callable[[str, RNG], str]) -> Write:
    return lambda one, rng: _cell(one, rng, int(rng.integers(1, 4)), change)


def _frequency(change: Callable[[str, RNG], str]) -> Write:
    return lambda one, rng: _cell(one, rng, 0, change)


def _cell(one: Evening, rng: RNG, column: int, change: Callable[[str, RNG], str]) -> Written:
    cells = one.cells
    row = int(rng.integers(1, len(cells)))
    cells[row][column] = change(cells[row][column], rng)
    return one.text(table=_joined(cells)), (GRID, ("table", row, column))


def _joined(cells: Cells) -> str:
    return "\n".join("  ".join(row) for row in cells)


def _node(one: Evening, rng: RNG) -> Written:
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
    return one.text(table=_joined(cells)), (GRID, ("table", row, column))


def _check_open(change: Callable[[str, RNG], str]) -> Write:
    def written(one: Evening, rng: RNG) -> Written:
        return one.text(check_open=f"{change(one.open_mvpp, rng)} mVpp"), (CHECK, ("open",))

    return written


def _loaded(one: Evening, rng: RNG) -> Written:  # noqa: ARG001
    return one.text(check_open=str(one.check["loaded"])), (CHECK, ("open",))


def _source_open(change: Callable[[str, RNG], str]) -> Write:
    def written(one: Evening, rng: RNG) -> Written:
        wrong = change(one.open_mvpp, rng)
        return one.text(source_open=wrong), (("sources", "generator"), ("open",))

    return written


def _either(*factors: float) -> Callable[[str, RNG], str]:
    return lambda number, rng: _scaled(number, float(rng.choice(factors)))


KINDS: dict[str, tuple[Write, str]] = {
    "prefix": (_amplitude(_either(1e3, 1e-3)), "prefix"),
    "decimal point": (_amplitude(_either(10.0, 0.1)), "decimal point"),
    "10x probe": (_amplitude(_either(10.0, 0.1)), "10x probe"),
    "digits swapped": (_amplitude(_swap), "digits swapped"),
    "digit dropped": (_amplitude(_drop), "digit dropped"),
    "digit doubled": (_amplitude(_double), "digit doubled"),
    "rms for pp": (_amplitude(_either(0.5 / sqrt(2.0))), "convention"),
    "peak for pp": (_amplitude(_either(0.5)), "convention"),
    "another node": (_node, "another node"),
    "frequency, factor of ten": (_frequency(_either(10.0, 0.1)), "decimal point"),
    "frequency, prefix": (_frequency(_either(1e3, 1e-3)), "prefix"),
    "frequency, swapped": (_frequency(_swap), "digits swapped"),
    "frequency, radians": (_frequency(_either(2 * pi)), "radians"),
    "open for a 50 ohm load": (_check_open(_either(0.5)), "display for a load"),
    "open read with the load on": (_loaded, "read loaded"),
    "open, factor of ten": (_check_open(_either(10.0, 0.1)), "decimal point"),
    "source for a 50 ohm load": (_source_open(_either(0.5)), "display for a load"),
    "source, digits swapped": (_source_open(_swap), "digits swapped"),
    "source, factor of ten": (_source_open(_either(10.0, 0.1)), "decimal point"),
}
"""How each mistake is written, and its id."""


def as_it_was(one: Evening, kind: str) -> str:
    """The right sheet into which a mistake of a kind is written."""
    return one.text(source_open=one.open_mvpp) if kind.startswith("source") else one.text()


def drawn(one: Evening, clean: Settled, kind: str, rng: RNG) -> Drawn | None:
    """A mistake of one kind that moves its reading far enough; None where none was met."""
    write, mistake = KINDS[kind]
    for _ in range(40):
        text, place = write(one, rng)
        if not _refused(text) and moved_by(clean, text) > FAR_SD:
            table = place[0] == GRID and place[1][2] != 0
            node = one.cells[0][int(place[1][2])].split("/")[0] if table else None
            return Drawn(kind, text, place, mistake, node)
    return None


def _refused(text: str) -> bool:
    """Whether the sheet is refused as it is read: such a mistake never comes to be settled."""
    try:
        ohmbook.read_sheet(text=text)
    except ohmbook.OhmbookError:
        return True
    return False


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


@dataclass(frozen=True)
class Outcome:
    """What was said of one case.

    Args:
        found: the very number is pointed at.
        named: the mistake's id is listed there.
        innocent: how many other places are called into question.
        seconds: processor time of the settle.
    """

    found: bool
    named: bool
    innocent: int
    seconds: float


def outcome(case: Drawn) -> tuple[Outcome, Settled]:
    """Settle a sheet with a mistake and hold what is told against the truth."""
    sheet_ = ohmbook.read_sheet(text=case.text)
    begun = process_time()
    settled = ohmbook.settle(sheet_)
    spent = process_time() - begun
    told = settled.slips
    here = [slip for slip in told if _points_at(slip, case)]
    listed = [one for slip in here for one in listed_at(slip, case.place)]
    named = any(case.mistake == cause.mistake.name for one in listed for cause in one.causes)
    strained = [f for f in settled.findings if f.kind in ("strained", "sketch doubt")]
    innocent = len(told) - len(here) + len(strained)
    return Outcome(bool(here), named, innocent, spent), settled


def listed_at(slip: Slip, place: Place) -> list[Supposed]:
    """The corrections listed with their odds that are at one place."""
    return [one.best for one in shown(slip) if (one.best.site.owner, one.best.site.key) == place]


def _points_at(slip: Slip, case: Drawn) -> bool:
    """Whether a slip tells of the very number: as a correction, or as the first to look at."""
    if listed_at(slip, case.place):
        return True
    spot = slip.scene.spot
    if shown(slip) or ("readings", spot.number) != case.place[0]:
        return False
    if spot.row is None or spot.row != case.place[1][1]:
        return False
    return case.node is None or f": {case.node} at " in slip.suspects[0]


def study(boards: int, seed: int) -> None:
    """Print found and named by kind, and false alarms."""
    kinds = list(KINDS)
    tally: dict[str, list[Outcome]] = {kind: [] for kind in kinds}
    alarms, unchecked, untold, clean_s = 0, 0, 0, []
    for k in range(boards):
        one, kind = evening(seed + k), kinds[k % len(kinds)]
        begun = process_time()
        clean = ohmbook.settle(ohmbook.read_sheet(text=as_it_was(one, kind)))
        clean_s.append(process_time() - begun)
        alarm = [f for f in clean.findings if f.kind in ("slip", "strained", "sketch doubt")]
        alarms += bool(alarm)
        for f in alarm[:1]:
            print(f"  false alarm, seed {seed + k}: {f.message[:150]}", flush=True)
        alone = unchecked_by_leaving_out(clean)
        unchecked, untold = unchecked + bool(alone), untold + len(alone - _told_unchecked(clean))
        case = drawn(one, clean, kind, np.random.default_rng([seed, k]))
        if case is None:
            continue
        found, settled = outcome(case)
        tally[kind].append(found)
        if not found.named or found.innocent:
            _tell_missed(seed + k, case, found, settled)
        if (k + 1) % len(kinds) == 0:
            every = [one for rows in tally.values() for one in rows]
            print(
                f"  after {k + 1} boards: {sum(one.found for one in every)} found and "
                f"{sum(one.named for one in every)} named of {len(every)}, {alarms} false alarms, "
                f"{sum(one.innocent > 0 for one in every)} with innocents accused",
                flush=True,
            )
    _table(tally, alarms, boards)
    slip_s = [one.seconds for rows in tally.values() for one in rows]
    print(
        f"boards with readings that nothing else checks {unchecked}, such readings not told "
        f"{untold}; wanted 0\nsettle of a right sheet {np.median(clean_s):.2f} s, of a wrong one "
        f"{np.median(slip_s):.2f} s (median; nine in ten {np.quantile(slip_s, 0.9):.2f} s; "
        "processor time)"
    )


def unchecked_by_leaving_out(settled: Settled) -> set[str]:
    """Labels of readings that what all others foretell would hardly check: its spread is over
    three times the reading's own (leverage above 0.9), by leaving each out of the linear fit."""
    posterior = settled.posterior
    slope = posterior.sensitivity * np.array([one.prior.u for one in posterior.unknowns])
    found = set()
    for k, label in enumerate(posterior.labels):
        rest = np.delete(slope, k, axis=0)
        spread = slope[k] @ np.linalg.solve(rest.T @ rest + np.eye(slope.shape[1]), slope[k])
        if spread > 9.0 * 1.001:  # of the reading's own variance, whitened
            found.add(label)
    return found


def _told_unchecked(settled: Settled) -> set[str]:
    """The labels that the findings name: "reading 2: w at 1 kHz, 2 kHz and m at 1 kHz; ..."."""
    told = set()
    for finding in settled.findings:
        said = finding.message.partition("Nothing else checks ")[2]
        for group in said.partition(": a slip there")[0].split("; ") if said else ():
            reading, _, places = group.rpartition(": ")
            for one in places.split(" and "):
                place, at, frequencies = one.partition(" at ")
                told |= {f"{reading}: {place}{at}{f}" for f in frequencies.split(", ")}
    return told


def _tell_missed(seed: int, case: Drawn, what: Outcome, settled: Settled) -> None:
    told = [f for f in settled.findings if f.kind in ("slip", "strained", "sketch doubt")]
    print(f"  seed {seed}: {case.kind} at {case.place}: {what}", flush=True)
    for f in told[:2]:
        print(f"    {f.kind}: {f.message[:160]}", flush=True)
        for why in f.explanations[:3]:
            print(f"      {why.what}: {why.probability:.3g}", flush=True)


def _table(tally: Mapping[str, list[Outcome]], alarms: int, boards: int) -> None:
    print(f"{'mistake':<28} {'boards':>6} {'found':>7} {'named':>7} {'innocent accused':>17}")
    every = [one for rows in tally.values() for one in rows]
    for kind, rows in (*tally.items(), ("all", every)):
        if rows:
            found = 100.0 * sum(one.found for one in rows) / len(rows)
            named = 100.0 * sum(one.named for one in rows) / len(rows)
            innocent = sum(one.innocent > 0 for one in rows)
            print(f"{kind:<28} {len(rows):>6} {found:>6.1f}% {named:>6.1f}% {innocent:>17}")
    print(f"{'wanted':<28} {'':>6} {97.0:>6.1f}% {90.0:>6.1f}%")
    print(f"false alarms {alarms} of {boards}; wanted at most 3 of 300")


def main() -> None:
    """Run the study."""
    boards = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    study(boards, int(sys.argv[2]) if len(sys.argv) > 2 else 1)


if __name__ == "__main__":
    main()
