"""Wrong sketches: is the mistake seen, and is it named?

    python -m benchmarks.wrong_sketches [VISIBLE] [RIGHT] [SEED]

Mistakes are drawn by kind and seed on real-like two-way boards (ten parts, three nodes read at 14
frequencies with an 8-bit scope). Dense algebra first sorts them, without noise: equivalent are
those under which every reading is the same; visible those whose readings no values within the
bands below come to within about 1 % each; what lies between (other values absorb the mistake) is
faint and drawn again, and its share is told. Right sketches are settled too. Equivalent ones must
be listed: those drawn, and every one that dense algebra finds of four kinds of board.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from scipy.optimize import least_squares

import ohmbook
from benchmarks.dense import Element, voltages
from benchmarks.simulate import (
    FREQUENCIES_HZ,
    Bench,
    Board,
    TruePart,
    check,
    first_order,
    series,
    sheet,
    take,
    three_way,
    two_way,
)
from ohmbook.bench.compile import compile_sheet
from ohmbook.counsel.alike import alike
from ohmbook.counsel.changes import BETWEEN, MISSING, WIRE
from ohmbook.documents.reading import Sheet
from ohmbook.job import Settled

Blank = dict[str, Any]
Rng = np.random.Generator
Signature = tuple[frozenset[Any], tuple[Any, ...]]
BANDS = {"inductor": (0.03e-3, 20e-3), "capacitor": (0.4e-6, 400e-6), "resistor": (0.1, 150.0)}
SPANS = {"inductor": (0.2e-3, 2e-3), "capacitor": (3e-6, 30e-6), "resistor": (2.0, 20.0)}
"""Between what the value of a part is drawn that is not as the drawing has it."""

OHM = {"inductor": (0.02, 4.0), "capacitor": (0.001, 3.0)}
VISIBLE = 60.0
"""Sum of squared misfits, in units of 1 % and 1 mV, above which a mistake is visible."""
LEAK_OHM = 1e12
GAIN = 0.03


@dataclass(frozen=True)
class Case:
    """One evening: the board as drawn, as it is, and how its one table was really taken."""

    kind: str
    what: str
    drawn: Board
    real: Board
    taken: Blank

    @property
    def written(self) -> Blank:
        """The table as the person believes it was taken."""
        return blank_of(self.drawn)


# -- mistakes ------------------------------------------------------------------------------


def blank_of(board: Board) -> Blank:
    """A plain grid to fill in."""
    heads = "frequency/Hz " + " ".join(f"{node}/mVpp" for node in board.nodes)
    cells = " ".join("?" for _ in board.nodes)
    table = "\n".join([heads, *(f"{f:g} {cells}" for f in FREQUENCIES_HZ)])
    return {"kind": "probe", "at": board.input, "detached": list(board.drivers), "table": table}


def nodes_of(board: Board) -> list[str]:
    """The board's nodes."""
    return list(dict.fromkeys(n for p in board.parts.values() for n in p.ends or ()))


def passive(board: Board) -> list[str]:
    """The parts that are no drivers."""
    return [n for n, p in board.parts.items() if p.kind != "driver" and p.ends]


def _ends(board: Board, name: str) -> tuple[str, str]:
    ends = board.parts[name].ends
    assert ends is not None
    return ends


def _one(rng: Rng, things: Sequence[str]) -> str:
    return things[int(rng.integers(len(things)))]


def _two(rng: Rng, things: Sequence[Any]) -> list[Any]:
    return [things[int(k)] for k in rng.choice(len(things), 2, replace=False)]


Drawn = tuple[str, Board, Blank]
Draw = Callable[[Board, Rng, Blank], Drawn]


def _open(board: Board, rng: Rng, blank: Blank) -> Drawn:
    name = _one(rng, passive(board))
    return f"{name} open", board.changed(name, ends=None), blank


def _short(board: Board, rng: Rng, blank: Blank) -> Drawn:
    name = _one(rng, passive(board))
    wire = TruePart("resistor", board.parts[name].ends, 1e-4)
    return f"{name} shorted", board.with_part(WIRE, wire), blank


def _swapped(board: Board, rng: Rng, blank: Blank) -> Drawn:
    a, b = _two(rng, passive(board))
    real = board.changed(a, ends=_ends(board, b)).changed(b, ends=_ends(board, a))
    return f"{a} and {b} swapped", real, blank


def _moved(board: Board, rng: Rng, blank: Blank) -> Drawn:
    name = _one(rng, passive(board))
    a, b = _ends(board, name)
    node = _one(rng, [n for n in nodes_of(board) if n not in (a, b)])
    ends = (node, b) if rng.random() < 0.5 else (a, node)
    return f"{name} between {ends}, not {(a, b)}", board.changed(name, ends=ends), blank


def _other_kind(board: Board, rng: Rng, blank: Blank) -> Drawn:
    name = _one(rng, passive(board))
    kind = _one(rng, [k for k in BANDS if k != board.parts[name].kind])
    ohm = {"inductor": 0.4, "capacitor": 0.1, "resistor": 0.0}[kind]
    changed = {"kind": kind, "value": rng.uniform(*SPANS[kind]), "ohm": ohm, "loss": 0.0}
    return f"{name} is a {kind}", board.changed(name, said={}, **changed), blank


def _link_missing(board: Board, rng: Rng, blank: Blank) -> Drawn:
    spanned = [set(p.ends) for p in board.parts.values() if p.ends]
    free = [pair for pair in combinations(nodes_of(board), 2) if set(pair) not in spanned]
    a, b = free[int(rng.integers(len(free)))]
    real = board.with_part(WIRE, TruePart("resistor", (a, b), 1e-4))
    return f"{a} and {b} are one", real, blank


def _link_extra(board: Board, rng: Rng, blank: Blank) -> Drawn:
    ends = [(n, k) for n in passive(board) for k in (0, 1) if _ends(board, n)[k] == board.ground]
    pair, real = _two(rng, ends), board
    for name, k in pair:
        a, b = _ends(board, name)
        real = real.changed(name, ends=("gnd2", b) if k == 0 else (a, "gnd2"))
    return f"{pair[0][0]} and {pair[1][0]} meet apart from ground", real, blank


def _probe_moved(board: Board, rng: Rng, blank: Blank) -> Drawn:
    was = _one(rng, board.nodes)
    node = _one(rng, [n for n in nodes_of(board) if n not in (was, board.ground)])
    heads, *rows = blank["table"].split("\n")
    table = "\n".join([heads.replace(f" {was}/", f" {node}/"), *rows])
    return f"probe on {node} for {was}", board, {**blank, "table": table}


def _source_moved(board: Board, rng: Rng, blank: Blank) -> Drawn:
    node = _one(rng, [n for n in nodes_of(board) if n not in (board.input, board.ground)])
    return f"source at {node}", board, {**blank, "at": node}


def _ground_moved(board: Board, rng: Rng, blank: Blank) -> Drawn:
    node = _one(rng, [n for n in nodes_of(board) if n not in (board.input, board.ground)])
    return f"grounds at {node}", board, {**blank, "at": [board.input, node], "scope_ground": node}


def _not_detached(board: Board, rng: Rng, blank: Blank) -> Drawn:
    name = _one(rng, board.drivers)
    left = [one for one in board.drivers if one != name]
    return f"{name} was connected", board, {**blank, "detached": left}


def _missing(board: Board, rng: Rng, blank: Blank) -> Drawn:
    """A part that the drawing leaves out, across two nodes where none of its kind is."""
    pairs = list(combinations(nodes_of(board), 2))
    kind = _one(rng, list(BANDS))
    beside = [set(_ends(board, n)) for n in passive(board) if board.parts[n].kind == kind]
    free = [pair for pair in pairs if set(pair) not in beside]
    a, b = free[int(rng.integers(len(free)))]
    return f"a {kind} from {a} to {b}", board.with_part(MISSING, _part(rng, kind, (a, b))), blank


def _missing_in_series(board: Board, rng: Rng, blank: Blank) -> Drawn:
    """A part that the drawing leaves out, in series with one of another kind."""
    name = _one(rng, passive(board))
    kind = _one(rng, [k for k in BANDS if k != board.parts[name].kind])
    a, b = _ends(board, name)
    more = _part(rng, kind, (f"{b}{BETWEEN}", b))
    real = board.changed(name, ends=(a, f"{b}{BETWEEN}")).with_part(MISSING, more)
    return f"a {kind} in series with {name}", real, blank


def _part(rng: Rng, kind: Any, ends: tuple[str, str]) -> TruePart:
    ohm = {"inductor": 0.4, "capacitor": 0.1, "resistor": 0.0}[kind]
    return TruePart(kind, ends, rng.uniform(*SPANS[kind]), ohm)


DRAWS: dict[str, Draw] = {
    "open": _open,
    "short": _short,
    "swapped": _swapped,
    "end moved": _moved,
    "other kind": _other_kind,
    "link missing": _link_missing,
    "link extra": _link_extra,
    "probe moved": _probe_moved,
    "source moved": _source_moved,
    "ground moved": _ground_moved,
    "not detached": _not_detached,
    "part missing": _missing,
    "in series": _missing_in_series,
}


def case(kind: str, rng: Rng, draw: Callable[..., Board] = two_way) -> Case:
    """A board with one mistake of a kind."""
    board = draw(rng, real=True)
    what, real, taken = DRAWS[kind](board, rng, blank_of(board))
    return Case(kind, what, board, real, taken)


def typed(one: Case, rng: Rng) -> str:
    """The sheet as the person types it: readings of the board as it is, the sketch as drawn."""
    bench = Bench(rng, real=True)
    first, taken = check(one.drawn, bench), take(one.real, bench, one.taken)
    heads, rows = one.written["table"].split("\n")[0], taken["table"].split("\n")[1:]
    written = {**one.written, "table": "\n".join([heads, *rows])}
    return sheet(one.drawn, bench, [first, written])


def signature(one: Case) -> Signature:
    """What is really so, to be held against a changed sheet."""
    taken = one.taken
    at = tuple(taken["at"]) if isinstance(taken["at"], list) else taken["at"]
    heads = tuple(word.split("/")[0] for word in taken["table"].split("\n")[0].split())
    parts = {n: (p.kind, p.ends) for n, p in one.real.parts.items()}
    clips = (at, taken.get("scope_ground"), heads, tuple(sorted(taken["detached"])))
    return _parts_signature(parts), clips


def signature_of(changed: Sheet) -> Signature:
    """The same of a changed sheet."""
    parts = {n: (p.kind, p.between) for n, p in changed.parts.items()}
    read: Any = changed.readings[-1]
    heads = tuple(column.name for column in read.table.columns)
    clips = (read.at, read.scope_ground, heads, tuple(sorted(read.detached)))
    return _parts_signature(parts), clips


def _parts_signature(parts: Mapping[str, tuple[str, tuple[str, str] | None]]) -> frozenset[Any]:
    return frozenset(
        (name, kind, frozenset(ends))
        for name, (kind, ends) in parts.items()
        if ends is not None and kind != "driver"
    )


# -- sorting by dense algebra --------------------------------------------------------------


def amplitudes(board: Board, blank: Blank, source_ohm: float = 50.0) -> np.ndarray[Any, Any]:
    """Noise-free amplitudes over the EMF, frequencies by nodes, all in a row."""
    at = blank["at"]
    plus, minus = (at, board.ground) if isinstance(at, str) else at
    gone = blank["detached"]
    elements: list[Element] = [
        part.element() for name, part in board.parts.items() if part.ends and name not in gone
    ]
    heads = [word.split("/")[0] for word in blank["table"].split("\n")[0].split()][1:]
    nodes = {n for e in elements for n in e[1:3]} | set(heads)
    elements += [("R", n, minus, LEAK_OHM) for n in nodes if n != minus]
    f_hz = np.array(FREQUENCIES_HZ, dtype=float)
    answer = voltages(elements, f_hz, plus, minus, source_ohm, minus)
    return np.asarray(np.abs(np.array([answer[n] for n in heads])).ravel())


def misfit(one: Case, rng: Rng, tries: int = 6) -> float:
    """How near any values of the drawing as drawn come to the readings: a sum of squares.

    Main values, series resistances and the scope's gain are free within their bands; from the
    true values, and from others at random.
    """
    true = amplitudes(one.real, one.taken)
    scale = 0.01 * true + 1e-3 / 6.0
    names = passive(one.drawn)
    wet = [n for n in names if one.drawn.parts[n].kind in OHM]
    kinds = [one.drawn.parts[n].kind for n in names]
    spans = [BANDS[k] for k in kinds] + [OHM[one.drawn.parts[n].kind] for n in wet]
    low, high = np.log(np.array([*spans, (1 - GAIN, 1 + GAIN)])).T

    def residual(p: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        values = dict(zip([*names, *(f"{n} ohm" for n in wet)], np.exp(p[:-1]), strict=True))
        board = one.drawn
        for n in names:
            board = board.changed(n, value=values[n], ohm=values.get(f"{n} ohm", 0.0))
        return np.asarray((np.exp(p[-1]) * amplitudes(board, one.written) - true) / scale)

    parts = one.drawn.parts
    start = np.log([*(parts[n].value for n in names), *(parts[n].ohm for n in wet), 1.0])
    best = np.inf
    for k in range(tries):
        begin = np.clip(start, low + 1e-3, high - 1e-3) if k == 0 else rng.uniform(low, high)
        fit = least_squares(residual, begin, bounds=(low, high), max_nfev=60)
        best = min(best, 2.0 * float(fit.cost))
        if best < VISIBLE:
            break
    return best


def equivalents(board: Board) -> set[frozenset[str]]:
    """Every pair of parts in whose exchanged places no reading would differ, by dense algebra:
    with the values going along, or staying where they are where the sheet says the same of both."""
    blank, found = blank_of(board), set()
    before = amplitudes(board, blank)
    for a, b in combinations(passive(board), 2):
        if set(_ends(board, a)) == set(_ends(board, b)):
            continue
        p, q = board.parts[a], board.parts[b]
        changed = board.changed(a, ends=q.ends).changed(b, ends=p.ends)
        after = amplitudes(changed, blank)
        named = (p.kind, p.said) == (q.kind, q.said)
        if named or np.allclose(before, after, rtol=1e-6, atol=1e-9):
            found.add(frozenset((a, b)))
    return found


# -- the study -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Outcome:
    """What settle said of one case: flagged, the true change's rank from 1 (0: not there)."""

    kind: str
    what: str
    flagged: bool
    rank: int
    seconds: float


def flagged(settled: Settled) -> bool:
    """Whether the sketch was called into question."""
    return any(one.kind == "sketch doubt" for one in settled.findings)


def outcome(one: Case, rng: Rng) -> Outcome:
    """Settle one case and look for the truth among what is named."""
    begin = time.process_time()
    settled = ohmbook.settle(ohmbook.read_sheet(text=typed(one, rng)))
    spent = time.process_time() - begin
    return Outcome(one.kind, one.what, flagged(settled), rank_of_truth(one, settled), spent)


def rank_of_truth(one: Case, settled: Settled) -> int:
    """Where the true change stands among what explains the readings, from 1; 0 where it is not."""
    true = signature(one)
    changes = [] if settled.doubts is None else settled.doubts.explanations
    for number, group in enumerate(changes, 1):
        sheets = [m.change.sheet for m in group.members if m.change is not None]
        if any(signature_of(changed) == true for changed in sheets):
            return number
    return 0


Cases = list[tuple[Case, Rng]]


def sorted_cases(count: int, seed: int) -> dict[str, Cases]:
    """So many visible mistakes, kinds in turn, and all others that were drawn on the way."""
    kinds, number = list(DRAWS), 0
    found: dict[str, Cases] = {"visible": [], "faint": [], "equivalent": []}
    while len(found["visible"]) < count:
        rng = np.random.default_rng([seed, number])
        one = case(kinds[len(found["visible"]) % len(kinds)], rng)
        number += 1
        found[_sorted(one, rng)].append((one, rng))
    return found


def _sorted(one: Case, rng: Rng) -> str:
    before, after = amplitudes(one.drawn, one.written), amplitudes(one.real, one.taken)
    if np.allclose(before, after, rtol=1e-6, atol=1e-9):
        return "equivalent"
    return "visible" if misfit(one, rng) > VISIBLE else "faint"


def right_sheet(seed: int) -> str:
    """A right sketch of a real-like two-way board, read by a plain grid."""
    rng = np.random.default_rng(seed)
    board = two_way(rng, real=True)
    bench = Bench(rng, real=True)
    return sheet(board, bench, [check(board, bench), take(board, bench, blank_of(board))])


def unlisted(seed: int) -> list[str]:
    """Equivalent drawings of four kinds of board that are not listed, or listed and not so."""
    wrong = []
    for draw in (two_way, three_way, first_order, series):
        rng = np.random.default_rng(seed)
        board, bench = draw(rng), Bench(rng)
        text = sheet(board, bench, [check(board, bench), take(board, bench, blank_of(board))])
        compiled = compile_sheet(ohmbook.read_sheet(text=text))
        listed = {frozenset(one.parts) for one in alike(compiled)}
        for pair in listed ^ equivalents(board):
            wrong.append(f"{draw.__name__} {seed}: {' '.join(sorted(pair))}")
    return wrong


def is_listed(one: Case, rng: Rng) -> bool:
    """Whether an equivalent mistake, which no reading shows, is named as such."""
    sheet_ = ohmbook.read_sheet(text=typed(one, rng))
    moved = {n for n in passive(one.drawn) if one.drawn.parts[n].ends != one.real.parts[n].ends}
    return any(set(pair.parts) == moved for pair in alike(compile_sheet(sheet_)))


def main(visible: int = 40, right: int = 200, seed: int = 1) -> None:
    """Run the study and print its tables."""
    found = sorted_cases(visible, seed)
    print("drawn:", ", ".join(f"{len(some)} {word}" for word, some in found.items()), flush=True)
    outcomes = []
    for one, rng in found["visible"]:
        outcomes.append(outcome(one, rng))
        last = outcomes[-1]
        if not last.flagged or not 0 < last.rank <= 3:
            told = f"flagged {last.flagged}, rank {last.rank}"
            print(f"  {last.kind}: {last.what}: {told}", flush=True)
        if len(outcomes) % len(DRAWS) == 0:
            seen = sum(o.flagged for o in outcomes)
            three = sum(0 < o.rank <= 3 for o in outcomes)
            print(
                f"  after {len(outcomes)}: {seen} flagged, {three} among the first three; "
                f"{np.median([o.seconds for o in outcomes]):.1f} s (median)",
                flush=True,
            )
    print(f"{'':14s}  visible  flagged  first  first three")
    for kind in [*DRAWS, "all"]:
        own = [o for o in outcomes if kind in ("all", o.kind)]
        first, three = sum(o.rank == 1 for o in own), sum(0 < o.rank <= 3 for o in own)
        seen = sum(o.flagged for o in own)
        print(f"{kind:14s}  {len(own):7d}  {seen:7d}  {first:5d}  {three:11d}")
    print(f"{'wanted':14s}  {40:7d}  {36:7d}         {30:11d}")
    print(f"seconds a wrong sketch (median): {np.median([o.seconds for o in outcomes]):.1f}")
    wrong = [text for k in range(10) for text in unlisted(k)]
    wrong += [one.what for one, rng in found["equivalent"] if not is_listed(one, rng)]
    print(f"equivalent drawings not listed (wanted 0): {len(wrong)} {wrong}", flush=True)
    called = []
    for k in range(right):
        settled = ohmbook.settle(ohmbook.read_sheet(text=right_sheet(10_000 + k)))
        if flagged(settled):
            doubt = next(one for one in settled.findings if one.kind == "sketch doubt")
            called.append(f"{k}: {doubt.message}")
    print(f"right sketches called into question: {len(called)} of {right} (wanted at most 2)")
    print("\n".join(called))


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
