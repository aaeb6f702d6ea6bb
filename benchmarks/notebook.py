"""How a notebook grows: opening it, writing in it, and all that it holds of one part.

    python -m benchmarks.notebook [largest]

Each reading is a number of the history of its own, one in ten revised and one in twenty struck
since; for a hundred readings there are five parts and two attachments of about 100 kB. Times are
medians, of the processor (which others' work does not change) and, where the disk is waited for, of
the clock as well.
"""

from __future__ import annotations

import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ohmbook.notebook.about import about
from ohmbook.notebook.bodies import to_body
from ohmbook.notebook.ink import READINGS, Act, Entry, Subject, digest_of
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.store import insert

SIZES = (100, 1_000, 10_000)
BOARD = "left"
AT = "2026-11-25T17:00:00.000+00:00"
SHEET = """title = "A board with many parts"
defaults = { source = "generator", instrument = "meter" }
sources.generator = { resistance = "50 ohm ± 5 %", open = "4.12 Vpp" }
instruments.meter = { kind = "multimeter", resistance = "0.8 % + 2 digits" }
[parts]
"""
WANTED_S = {"opening": 0.5, "append": 0.010, "append, by the clock": 0.010, "a part's page": 0.050}


def grow(path: Path, readings: int) -> None:
    """A notebook of so many readings, as one writer would have written it."""
    rng = random.Random(readings)
    parts = [f"L{k}" for k in range(max(readings // 20, 1))]
    listed = "".join(f'{name} = {{ kind = "inductor", marking = "0.82" }}\n' for name in parts)
    with Notebook.new(path, "Ada") as book:
        book.take_in(BOARD, SHEET + listed)
        ledger = book.view().ledger
        first = ledger.last
        for kind, entry in _entries(rng, parts, readings, ledger.entries[-1].id + 1):
            act = Act(ledger.last + 1, AT, "Ada", kind, f"a reading of {BOARD}")
            entry = replace(entry, act=act.id)
            ledger.add(replace(act, digest=digest_of(ledger.digest, act, [entry])), [entry])
        with book.store.writing() as db:
            for act in ledger.acts[first:]:
                insert(db, act, ledger.made_by(act.id))
        for k in range(readings // 50):
            data = rng.randbytes(rng.randint(80_000, 120_000))
            book.attach(BOARD, f"photo {k}", data, to=("parts", parts[k % len(parts)]))


def _entries(
    rng: random.Random, parts: Sequence[str], count: int, number: int
) -> Iterator[tuple[str, Entry]]:
    for k in range(count):
        raw = _reading(rng, parts[k % len(parts)])
        first = Entry(number, 0, Subject(BOARD, READINGS, str(number)), 0, to_body(raw))
        yield "write", first
        number += 1
        if k % 10 == 0 or k % 20 == 1:
            kind, later = ("revise", {"value": "0.7 ohm"}) if k % 10 == 0 else ("strike", _STRUCK)
            body = to_body({**raw, **later})
            yield kind, Entry(number, 0, first.subject, first.id, body)
            number += 1


_STRUCK = {"struck": "the clip came off"}


def _reading(rng: random.Random, part: str) -> dict[str, Any]:
    value = f"{rng.uniform(0.3, 0.9):.2f} ohm"
    return {
        "kind": "resistance", "part": part, "instrument": "meter", "value": value,
        "leads": "0.2 ohm", "note": "on the bench, one leg lifted",
    }  # fmt: skip


def measure(path: Path, times: int = 15) -> dict[str, float]:
    """Medians, s."""
    found = {"opening": _median(times, lambda: Notebook.open(path).close())}
    with Notebook.open(path) as book:
        rng, parts = random.Random(1), list(book.plain(BOARD)["parts"])
        book.add(BOARD, _reading(rng, parts[0]))  # what is worked out once per opening
        found["append"], found["append, by the clock"] = _medians(
            times, lambda: book.add(BOARD, _reading(rng, rng.choice(parts)))
        )
        found["the disk alone"] = _sync(path.with_name("synced"), times)
        asked = iter(rng.choices(parts, k=times))
        found["a part's page"] = _median(times, lambda: about(book.view(), BOARD, next(asked)))
    return found


def _median(times: int, deed: Callable[[], object]) -> float:
    return _medians(times, deed)[0]


def _medians(times: int, deed: Callable[[], object]) -> tuple[float, float]:
    """Of the processor, and by the clock, s."""
    taken = []
    for _ in range(times):
        began, clock = time.process_time(), time.perf_counter()
        deed()
        taken.append((time.process_time() - began, time.perf_counter() - clock))
    processor, clocks = zip(*taken, strict=True)
    return statistics.median(processor), statistics.median(clocks)


def _sync(path: Path, times: int) -> float:
    """How long the disk takes by the clock to keep 12 kB, as an append has it do."""
    with path.open("wb", buffering=0) as stream:

        def keep() -> None:
            stream.write(bytes(12_000))
            os.fsync(stream.fileno())

        return _medians(times, keep)[1]


def main() -> None:
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else SIZES[-1]
    sizes = [one for one in SIZES if one <= largest]
    with tempfile.TemporaryDirectory() as folder:
        found = {}
        for size in sizes:
            path = Path(folder) / f"{size}.ohmbook"
            grow(path, size)
            found[size] = measure(path)
            print(
                f"{size:>6} readings: {size // 20} parts, {size // 50} attachments, "
                f"{path.stat().st_size / 1e6:.1f} MB"
            )
    print(f"{'ms':24}{'wanted':>10}" + "".join(f"{size:>10}" for size in sizes))
    for name in found[sizes[0]]:
        shown = "".join(f"{1e3 * found[size][name]:>10.2f}" for size in sizes)
        wanted = f"< {1e3 * WANTED_S[name]:.0f}" if name in WANTED_S else ""
        print(f"{name:24}{wanted:>10}{shown}")


if __name__ == "__main__":
    main()
