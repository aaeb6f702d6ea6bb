"""One byte of a notebook flipped: is it told, or is the very same there as before?

    python -m benchmarks.flipped [flips] [first seed]      (0 flips: every byte, three ways)

Where a flip is not told at opening, everything written is compared with what was there before, the
whole file is looked through (`ohmbook notebook check`), and a further reading is written, which
must be there, with all the rest, when the notebook is opened again. Where it is told, the file must
be left as it was, byte for byte, and nothing may lie beside it.
"""

from __future__ import annotations

import hashlib
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from benchmarks.killed import BOARD, SHEET
from ohmbook.errors import OhmbookError
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.store import insert_attachment

FLIPS = 2000
READING = {
    "kind": "amplitude ratio",
    "part": "L1",
    "frequency": "5.6 kHz",
    "half_of": "4.12 Vpp",
}
TOLD, SEEN, SAME = "told at opening", "told by a check", "nothing is changed by it"
BAD = "SILENTLY CHANGED"


def make(path: Path) -> str:
    """A notebook of a board, twenty readings, two attachments; what is written in it."""
    with Notebook.new(path, "Ada") as book:
        book.take_in(BOARD, SHEET)
        for k in range(20):
            book.add(BOARD, {**READING, "note": f"reading number {k}"})
        book.strike(BOARD, "2", "probe slipped")
        book.revise(BOARD, "3", {**READING, "note": "looked again"})
        for size in (300, 9000):
            data = random.Random(size).randbytes(size)
            with book.store.writing() as db:
                insert_attachment(db, hashlib.sha256(data).digest(), data, None)
        book.undo()
        return written(book)


def written(book: Notebook) -> str:
    """Everything written in a notebook, and what it comes to."""
    ledger = book.view().ledger
    return repr((ledger.acts, ledger.entries, book.boards(), book.text(BOARD)))


def flips(count: int, size: int, seed: int) -> Iterator[tuple[int, int]]:
    """Places, and what each byte there is exclusive-ored with."""
    rng = random.Random(seed)
    if count:
        yield from ((rng.randrange(size), rng.randrange(1, 256)) for _ in range(count))
    else:
        yield from ((place, with_) for place in range(size) for with_ in (1, 0x80, 0xFF))


def outcome(path: Path, whole: bytes, before: str, place: int, with_: int) -> str:
    """What becomes of one flip.

    Args:
        path: where to put the flipped notebook.
        whole: the notebook's bytes.
        before: what is `written` in it.
        place: of the byte.
        with_: what it is exclusive-ored with.
    """
    data = bytearray(whole)
    data[place] ^= with_
    path.write_bytes(data)
    try:
        with Notebook.open(path) as book:
            same = written(book) == before
            checked = _checks(book)
            if same and checked:
                book.add(BOARD, {**READING, "note": "after it"})
    except OhmbookError:
        left = path.read_bytes() == data and not list(path.parent.glob(f"{path.name}-*"))
        return TOLD if left else BAD
    if not same:
        return BAD
    if not checked:
        return SEEN
    with Notebook.open(path) as book:
        book.check()
        book.undo()
        return SAME if repr(book.text(BOARD)) in before else BAD


def _checks(book: Notebook) -> bool:
    try:
        book.check()
    except OhmbookError:
        return False
    return True


def count(folder: Path, number: int, seed: int) -> Counter[str]:
    """How many flips came to what."""
    before = make(folder / "whole.ohmbook")
    whole = (folder / "whole.ohmbook").read_bytes()
    path, found = folder / "flipped.ohmbook", Counter[str]()
    for place, with_ in flips(number, len(whole), seed):
        one = outcome(path, whole, before, place, with_)
        found[one] += 1
        if one == BAD:
            print(f"byte {place} with {with_:#04x}: {one}")
    return found


def main() -> None:
    arguments = [int(one) for one in sys.argv[1:]]
    number = arguments[0] if arguments else FLIPS
    with tempfile.TemporaryDirectory() as folder:
        found = count(Path(folder), number, arguments[1] if len(arguments) > 1 else 1)
    print(f"{found.total()} flips of one byte")
    print(f"{'':28}{'wanted':>10}{'measured':>10}")
    for name, wanted in ((TOLD, ""), (SEEN, ""), (SAME, ""), (BAD, "0")):
        print(f"{name:28}{wanted:>10}{found[name]:>10}")


if __name__ == "__main__":
    main()
