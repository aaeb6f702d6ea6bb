"""Wrong sketches: mistakes drawn by kind and seed on two-way boards."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from benchmarks.simulate import Bench, Board, TruePart, check, grid, sheet, take, two_way, FREQUENCIES_HZ

Blank = dict[str, Any]


@dataclass(frozen=True)
class Case:
    """One evening: the board as drawn, as it is, and how its one table was really taken."""

    kind: str
    what: str
    drawn: Board
    real: Board
    blank: Blank
    nodes: tuple[str, ...]


def blank_of(board: Board, nodes: tuple[str, ...]) -> Blank:
    heads = "frequency/Hz " + " ".join(f"{node}/mVpp" for node in nodes)
    cells = " ".join("?" for _ in nodes)
    table = "\n".join([heads, *(f"{f:g} {cells}" for f in FREQUENCIES_HZ)])
    return {"kind": "probe", "at": board.input, "detached": list(board.drivers), "table": table}


def nodes_of(board: Board) -> list[str]:
    return list(dict.fromkeys(n for p in board.parts.values() for n in p.ends or ()))


def _pick(rng: np.random.Generator, things: list[Any]) -> Any:
    return things[int(rng.integers(len(things)))]


def _passive(board: Board) -> list[str]:
    return [n for n, p in board.parts.items() if p.kind != "driver"]


def _open(board, rng, blank):
    name = _pick(rng, _passive(board))
    return f"{name} open", board.changed(name, ends=None), blank


def _short(board, rng, blank):
    name = _pick(rng, _passive(board))
    return f"{name} shorted", board.with_part("wire", TruePart("resistor", board.parts[name].ends, 1e-4)), blank


def _swap(board, rng, blank):
    names = _passive(board)
    while True:
        a, b = (names[int(k)] for k in rng.choice(len(names), 2, replace=False))
        pa, pb = board.parts[a], board.parts[b]
        if (pa.kind, pa.said) != (pb.kind, pb.said):
            return f"{a} {b} swapped", board.changed(a, ends=pb.ends).changed(b, ends=pa.ends), blank


def _move(board, rng, blank):
    name = _pick(rng, _passive(board))
    a, b = board.parts[name].ends
    side = int(rng.integers(2))
    node = _pick(rng, [n for n in nodes_of(board) if n not in (a, b)])
    ends = (node, b) if side == 0 else (a, node)
    return f"{name} {ends} not {(a, b)}", board.changed(name, ends=ends), blank


def _kind(board, rng, blank):
    name = _pick(rng, _passive(board))
    part = board.parts[name]
    other = _pick(rng, [k for k in ("inductor", "capacitor", "resistor") if k != part.kind])
    value = {"inductor": rng.uniform(0.2e-3, 2e-3), "capacitor": rng.uniform(3e-6, 30e-6), "resistor": rng.uniform(2, 20)}[other]
    ohm = {"inductor": 0.4, "capacitor": 0.1, "resistor": 0.0}[other]
    return f"{name} {other}", board.changed(name, kind=other, value=value, ohm=ohm, loss=0.0, said={}), blank


def _link(board, rng, blank):
    nodes = nodes_of(board)
    while True:
        a, b = (nodes[int(k)] for k in rng.choice(len(nodes), 2, replace=False))
        if not any(p.ends and set(p.ends) == {a, b} for p in board.parts.values()):
            return f"link {a}-{b}", board.with_part("wire", TruePart("resistor", (a, b), 1e-4)), blank


def _split(board, rng, blank):
    ends = [(n, s) for n in _passive(board) for s in (0, 1) if board.parts[n].ends[s] == "gnd"]
    pair = [ends[int(k)] for k in rng.choice(len(ends), 2, replace=False)]
    real = board
    for name, side in pair:
        a, b = board.parts[name].ends
        real = real.changed(name, ends=("gnd2", b) if side == 0 else (a, "gnd2"))
    return f"split {pair}", real, blank


def _probe(board, rng, blank):
    head = blank["table"].split("\n")[0].split()[1:]
    was = _pick(rng, [h.split("/")[0] for h in head])
    node = _pick(rng, [n for n in nodes_of(board) if n not in (was, "gnd")])
    lines = blank["table"].split("\n")
    lines[0] = lines[0].replace(f" {was}/", f" {node}/")
    return f"probe {node} for {was}", board, {**blank, "table": "\n".join(lines)}


def _source(board, rng, blank):
    node = _pick(rng, [n for n in nodes_of(board) if n not in (blank["at"], "gnd")])
    return f"source at {node}", board, {**blank, "at": node}


def _ground(board, rng, blank):
    node = _pick(rng, [n for n in nodes_of(board) if n not in (blank["at"], "gnd")])
    return f"ground at {node}", board, {**blank, "at": [blank["at"], node], "scope_ground": node}


DRAW = {"open": _open, "short": _short, "swapped": _swap, "end moved": _move, "other kind": _kind,
 "link missing": _link, "link extra": _split, "probe moved": _probe, "source moved": _source, "ground moved": _ground}


def case(kind: str, rng: np.random.Generator) -> Case:
    board = two_way(rng, real=True)
    blank = blank_of(board, board.nodes)
    what, real, other = DRAW[kind](board, rng, blank)
    return Case(kind, what, board, real, other, board.nodes)


def texts(one: Case, rng: np.random.Generator) -> tuple[str, str]:
    """The sheet as the person typed it, and as it would have been right."""
    bench = Bench(rng, real=True)
    first = check(one.drawn, bench)
    taken = take(one.real, bench, one.blank)
    rows = taken["table"].split("\n")[1:]
    typed = {**blank_of(one.drawn, one.nodes)}
    typed["table"] = "\n".join([typed["table"].split("\n")[0], *rows])
    return sheet(one.drawn, bench, [first, typed]), sheet(one.real, bench, [first, taken])
