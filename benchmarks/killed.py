"""Writers killed at a random moment: is everything there that they were told had been written?

    python -m benchmarks.killed [runs] [first seed]

In each run two processes write into one notebook in bursts (they open it, add, strike, revise,
undo and keep attachments, close it) and acknowledge each act once the call has returned. One or
both are killed (SIGKILL) at a random moment. Then the notebook is opened, looked through, and
settled, in every run.
"""

from __future__ import annotations

import multiprocessing
import random
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any

from ohmbook.errors import CallError, OhmbookError
from ohmbook.job.settled import settle
from ohmbook.notebook.bodies import from_body
from ohmbook.notebook.change import Saved
from ohmbook.notebook.ink import Act, Entry
from ohmbook.notebook.notebook import Notebook

RUNS = 300
BOARD = "left"
WRITERS = ("laptop", "phone")
LONGEST_S = 0.25
"""The kill falls within this time after both writers have begun."""
PATIENCE_S = 30.0
SHEET = """title = "A board to be killed over"
defaults = { source = "generator", instrument = "scope" }
sources.generator = { resistance = "50 ohm ± 5 %", open = "4.12 Vpp" }
instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }
[parts]
L1 = { kind = "inductor", marking = "0.82" }
[[readings]]
kind = "amplitude ratio"
part = "L1"
frequency = "5.6 kHz"
half_of = "4.12 Vpp"
"""

Ack = tuple[str, Any]
"""What was acknowledged: "act" or "bytes", with the act, its entries, and what was given for it."""


@dataclass
class Outcome:
    """What one run showed.

    Args:
        acknowledged: acts that the writers were told had been written.
        by_the_killed: of these, by a writer that was killed.
        log_left: bytes of the log that lay there afterwards.
        problems: what was wrong; empty where nothing was.
    """

    acknowledged: int = 0
    by_the_killed: int = 0
    log_left: int = 0
    problems: list[str] = field(default_factory=list)


def nursery() -> multiprocessing.context.ForkServerContext:
    """Processes that start within milliseconds, from one that has imported everything."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["ohmbook.job.settled", "ohmbook.notebook.notebook"])
    return context


def run(seed: int, folder: Path) -> Outcome:
    """Kill once, and look at what is left.

    Args:
        seed: of everything random but the scheduler.
        folder: for the notebook; nothing of its name is there.
    """
    rng = random.Random(seed)
    path = folder / f"killed-{seed}.ohmbook"
    with Notebook.new(path, "begun") as book:
        book.take_in(BOARD, SHEET)
    acks, killed = _killed(rng, seed, path)
    log = path.with_name(f"{path.name}-wal")
    found = Outcome(
        sum(map(len, acks.values())),
        sum(len(acks[one]) for one in killed),
        log.stat().st_size if log.exists() else 0,
    )
    try:
        found.problems += list(problems(path, acks))
    except OhmbookError as error:
        found.problems.append(str(error))
    return found


def _killed(rng: random.Random, seed: int, path: Path) -> tuple[dict[str, list[Ack]], list[str]]:
    """Let two write, kill one or both, and gather what they acknowledged until then."""
    context, acks = nursery(), {one: list[Ack]() for one in WRITERS}
    killed = rng.choice([[WRITERS[0]], [WRITERS[1]], list(WRITERS), list(WRITERS)])
    ends: dict[Any, str] = {}
    writers = {}
    for place, who in enumerate(WRITERS):
        here, there = context.Pipe()
        writers[who] = context.Process(target=_write, args=(path, who, 2 * seed + place, there))
        writers[who].start()
        there.close()
        ends[here] = who
    for here in ends:
        assert here.recv() == "ready"
    for here in ends:
        here.send("go")
    _gather(ends, acks, rng.uniform(0.0, LONGEST_S))
    for who in killed:
        writers[who].kill()
    for here, who in ends.items():
        if who not in killed:
            here.send("stop")
    _gather(dict(ends), acks, PATIENCE_S)
    for one in writers.values():
        one.join(PATIENCE_S)
    return acks, killed


def _gather(ends: dict[Any, str], acks: dict[str, list[Ack]], for_s: float) -> None:
    """Take what is acknowledged for some time, or until nobody is left."""
    until = time.monotonic() + for_s
    while ends and (left := until - time.monotonic()) > 0:
        ready: list[Any] = wait(list(ends), left)
        for here in ready:
            try:
                acks[ends[here]].append(here.recv())
            except (EOFError, OSError):
                del ends[here]


def _write(path: Path, who: str, seed: int, pipe: Connection) -> None:
    """One writer, until it is told to stop, or killed."""
    rng = random.Random(seed)
    pipe.send("ready")
    pipe.recv()
    while not pipe.poll():
        with Notebook.open(path, who=who, wait_s=PATIENCE_S) as book:
            for _ in range(rng.randint(1, 8)):
                if pipe.poll():
                    break
                with suppress(CallError):  # the other one has just struck it, or the like
                    pipe.send(_deed(book, rng))


def _deed(book: Notebook, rng: random.Random) -> Ack:
    """Write something, and once that call has returned, say what."""
    if rng.random() < 0.1:
        data = rng.randbytes(rng.choice((200, 100_000)))
        return "bytes", (*_written(book, book.attach(BOARD, "capture", data)), data)
    told, saved = rng.choice((_add, _add, _add, _strike, _revise, _undo))(book, rng)
    return "act", (*_written(book, saved), told)


def _written(book: Notebook, saved: Saved) -> tuple[Act, tuple[Entry, ...]]:
    return book.history()[saved.act - 1], tuple(book.made_by(saved.act))


def _reading(rng: random.Random) -> dict[str, Any]:
    note = f"{rng.random()} " * rng.choice((1, 1, 1, 500))
    frequency = f"{rng.uniform(5.5, 5.7):.2f} kHz"
    return {
        "kind": "amplitude ratio", "part": "L1", "frequency": frequency, "half_of": "4.12 Vpp",
        "note": note.strip(),
    }  # fmt: skip


def _add(book: Notebook, rng: random.Random) -> tuple[list[Any], Saved]:
    raws = [_reading(rng) for _ in range(rng.randint(1, 3))]
    return raws, book.add(BOARD, *raws)


def _strike(book: Notebook, rng: random.Random) -> tuple[list[Any], Saved]:
    kept = rng.choice(book.readings(BOARD))
    why = f"probe slipped {rng.random()}"
    return [{**kept.raw, "struck": why}], book.strike(BOARD, kept.name, why)


def _revise(book: Notebook, rng: random.Random) -> tuple[list[Any], Saved]:
    kept = rng.choice(book.readings(BOARD))
    raw = _reading(rng)
    return [raw], book.revise(BOARD, kept.name, raw)


def _undo(book: Notebook, _: random.Random) -> tuple[list[Any], Saved]:
    mine = [one.id for one in book.history()[1:] if one.who == book.who]
    if not mine:
        raise CallError("nothing of mine yet")
    return [], book.undo(mine[-1])


def problems(path: Path, acks: dict[str, list[Ack]]) -> list[str]:
    """What is wrong with a notebook after a kill.

    Args:
        path: where it is.
        acks: what each writer acknowledged.
    """
    found = []
    with Notebook.open(path) as book:
        book.check()
        found += book.store.damage()
        for who, told in acks.items():
            found += [f"{who}: {one[0]} lost or changed" for one in told if not _there(book, *one)]
        settle(book.sheet(BOARD))
    if list(path.parent.glob(f"{path.name}-*")):
        found.append("the log was left behind")
    return found


def _there(book: Notebook, kind: str, told: Any) -> bool:
    act, entries, given = told
    made = tuple(book.made_by(act.id))
    if book.view().ledger.act(act.id) != act or made != entries:
        return False
    bodies = [from_body(one.body) for one in made if one.body is not None]
    if kind == "bytes":
        kept = book.store.attachment(bytes.fromhex(bodies[0]["sha256"]))
        return kept is not None and kept[0] == given
    return bool(bodies == given)


def main() -> None:
    arguments = [int(one) for one in sys.argv[1:]]
    runs = arguments[0] if arguments else RUNS
    first = arguments[1] if len(arguments) > 1 else 1
    with tempfile.TemporaryDirectory() as folder:
        found = [run(first + k, Path(folder)) for k in range(runs)]
    for seed, one in enumerate(found, first):
        for problem in one.problems:
            print(f"seed {seed}: {problem}")
    left = sum(one.log_left > 0 for one in found)
    print(f"{runs} runs, seeds {first} to {first + runs - 1}; settled in every run")
    rows: list[tuple[str, str, Callable[[], object]]] = [
        ("runs with anything wrong", "0", lambda: sum(bool(one.problems) for one in found)),
        ("acknowledged", "", lambda: sum(one.acknowledged for one in found)),
        ("  by a writer that was killed", "> 0", lambda: sum(one.by_the_killed for one in found)),
        ("acknowledged and lost or changed", "0", lambda: _lost(found)),
        ("runs that left a log to recover", "> 0", lambda: left),
    ]
    print(f"{'':34}{'wanted':>10}{'measured':>10}")
    for name, wanted, measured in rows:
        print(f"{name:34}{wanted:>10}{measured():>10}")


def _lost(found: list[Outcome]) -> int:
    return sum("lost or changed" in problem for one in found for problem in one.problems)


if __name__ == "__main__":
    main()
