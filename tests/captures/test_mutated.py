"""200 files that were broken on purpose: one clear message each, or sound numbers with a remark.

Nothing in a file is ever executed: a file of stored objects that would leave a trace leaves none.
"""

from __future__ import annotations

import pickle
import re
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest

from ohmbook import captures
from ohmbook.errors import CaptureError
from tests.captures.waves import csv, pair, wav

RATE = 48_000
T = np.arange(600, dtype=float) * 4e-5 - 0.01
ONE, OTHER = pair(T, 500.0)
META = "Record Length,600\nSample Interval,4e-05\nVertical Units,V\nHorizontal Units,s\n"


def bases() -> dict[str, bytes]:
    """Whole files, one of each make."""
    decimal = csv([T * 1e3, ONE], "Time;Channel A\n(ms);(V)\n", "%.8f", ";").replace(b".", b",")
    touchstone = b"# HZ S RI R 50\n" + b"".join(
        b"%g %g %g\n" % (1000.0 * k, 0.9 - 0.001 * k, 0.1) for k in range(1, 200)
    )
    return {
        "plain.csv": csv([T, ONE, OTHER], "Time (s),CH1 (V),CH2 (V)"),
        "headed.csv": META.encode() + csv([T, ONE, OTHER], "TIME,CH1,CH2"),
        "decimal.csv": decimal,
        "columns.txt": csv(
            [1e3 + 1e3 * np.arange(99.0), ONE[:99]], "frequency_hz\tx_ohm", "%g", "\t"
        ),
        "coil.s1p": touchstone,
        "sound.wav": wav(np.column_stack([ONE, OTHER]) / 2, RATE),
    }


Mutation = Callable[[bytes, np.random.Generator], bytes]


def _flip(data: bytes, rng: np.random.Generator) -> bytes:
    held = bytearray(data)
    for at in rng.integers(0, len(held), 12):
        held[at] ^= int(rng.integers(1, 256))
    return bytes(held)


def _lines(change: Callable[[list[bytes], np.random.Generator], list[bytes]]) -> Mutation:
    return lambda data, rng: b"\n".join(change(data.split(b"\n"), rng))


def _at(word: bytes) -> Mutation:
    def put(lines: list[bytes], rng: np.random.Generator) -> list[bytes]:
        k = int(rng.integers(len(lines) // 2, len(lines) - 5)) if len(lines) > 20 else 0
        parts = re.split(rb"[,;\t ]", lines[k])
        return [*lines[:k], lines[k].replace(parts[0], word, 1), *lines[k + 1 :]]

    return _lines(put)


def _swapped(lines: list[bytes], _: np.random.Generator) -> list[bytes]:
    return [
        b",".join(reversed(line.split(b","))) if line[:1] in b"+-0123456789" else line
        for line in lines
    ]


def _zipped(data: bytes, _: np.random.Generator) -> bytes:
    held = BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        archive.writestr("xl/workbook.xml", data[:2000])
    return held.getvalue()


class Bomb:
    """What would write a file if it were ever unpickled."""

    def __init__(self, path: str) -> None:
        self.path = path

    def __reduce__(self) -> tuple[Callable[..., object], tuple[str, str]]:
        return open, (self.path, "w")


MUTATIONS: dict[str, Mutation] = {
    "cut": lambda data, rng: data[: int(rng.integers(0, len(data)))],
    "cut at the front": lambda data, rng: data[int(rng.integers(1, len(data))) :],
    "flipped": _flip,
    "UTF-16": lambda data, _: data.decode("latin-1").encode("utf-16"),
    "UTF-16 without mark, cut": lambda data, _: data.decode("latin-1").encode("utf-16-be")[:-1],
    "UTF-32": lambda data, _: data.decode("latin-1").encode("utf-32"),
    "EBCDIC": lambda data, _: data.decode("latin-1").encode("cp500", "replace"),
    "zeros inside": lambda data, rng: data[:300] + bytes(40) + data[300:],
    "noise": lambda data, rng: rng.integers(0, 256, len(data), dtype=np.uint8).tobytes(),
    "swapped columns": _lines(_swapped),
    "rows shuffled": _lines(lambda lines, rng: [lines[k] for k in rng.permutation(len(lines))]),
    "rows reversed": _lines(lambda lines, _: [*lines[:1], *lines[:0:-1]]),
    "half the rows twice": _lines(lambda lines, _: lines + lines[len(lines) // 2 :]),
    "a formula": _at(b'=HYPERLINK("x")'),
    "another formula": _at(b"@SUM(1+1)*cmd|' /C x'!A0"),
    "code": _at(b"__import__('os').system('x')"),
    "huge": _at(b"1e999"),
    "nan": _at(b"nan"),
    "a very long line": lambda data, _: data[:200] + b"9" * 200_000 + data[200:],
    "very many columns": lambda data, _: data[:200] + b"1," * 50_000 + b"\n" + data[200:],
    "no line ends": lambda data, _: data.replace(b"\r", b" ").replace(b"\n", b" "),
    "digits lost": lambda data, _: re.sub(rb"[0-9]", b"", data),
    "zipped": _zipped,
    "one byte": lambda data, _: data[:1],
    "empty": lambda data, _: b"",
    "stored objects": lambda data, _: pickle.dumps([data, 1.0]),
    "stored objects, protocol 0": lambda data, _: pickle.dumps({"a": data[:50]}, protocol=0),
    "stored array": lambda data, _: b"\x93NUMPY\x01\x00" + data,
    "quotes": lambda data, _: data.replace(b",", b'","', 7).replace(b"\n", b'"\n"', 9),
    "a picture's first bytes": lambda data, _: b"\x89PNG\r\n\x1a\n" + data,
    "a database's first bytes": lambda data, _: b"SQLite format 3\0" + data,
    "wide integers": _at(b"9" * 5000),
    "commas for points": lambda data, _: data.replace(b".", b","),
    "spaces for commas": lambda data, _: data.replace(b",", b" "),
}


def cases() -> list[tuple[str, str, int]]:
    return [(base, name, k) for k, base in enumerate(bases()) for name in MUTATIONS]


def test_there_are_200_of_them() -> None:
    assert len(cases()) >= 200


@pytest.mark.parametrize(("base", "mutation", "seed"), cases())
def test_one_clear_message_or_sound_numbers(base: str, mutation: str, seed: int) -> None:
    data = MUTATIONS[mutation](bases()[base], np.random.default_rng(seed))
    try:
        found = captures.read(data, base)
    except CaptureError as error:
        message = str(error)
        assert message.startswith(f"{base}: ")
        assert message.endswith(".")
        assert 30 < len(message) < 400
        assert not re.search(r"Error|Traceback|could not convert|codec", message)
        return
    assert found.size == len(data)
    for one in found.channels:
        assert np.all(np.isfinite(one.values)), one.name
    if found.axis is not None:
        steps = np.diff(found.axis.values)
        assert np.all(steps > 0 if found.axis.quantity == "time" else steps >= 0)
    assert found.channels or found.open


@pytest.mark.parametrize("protocol", range(6))
def test_nothing_is_ever_unpickled(protocol: int, tmp_path: Path) -> None:
    trace = tmp_path / "trace"
    bomb = pickle.dumps(Bomb(str(trace)), protocol=protocol)
    with pytest.raises(CaptureError, match=r"stored objects|not text|no rows"):
        captures.read(bomb, "capture.csv")
    pickle.loads(bomb).close()
    assert trace.exists(), "the bomb itself does not work, so the test proves nothing"


def test_a_quarter_of_the_rows_swapped_is_not_taken_for_time() -> None:
    with pytest.raises(CaptureError, match="time goes back at row"):
        captures.read(csv([ONE, T], "Time (s),CH1 (V)"), "a.csv")
