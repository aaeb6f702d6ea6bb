"""Touchstone files, version 1, one- and two-port; of version 2 what is written the same way.

Source: Touchstone File Format Specification 1.1 (EIA/IBIS Open Forum): option line
`# GHz S MA R 50` with its defaults, remarks behind "!", data order of a two-port 11 21 12 22,
and Z, Y of version 1 normalised to the reference resistance.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures.capture import Assumed, Axis, Capture, Channel, Question, Remark
from ohmbook.errors import CaptureError

_FREQUENCY = {"HZ": 1.0, "KHZ": 1e3, "MHZ": 1e6, "GHZ": 1e9}
_KINDS = frozenset("SYZGH")
_FORMS = frozenset(["MA", "DB", "RI"])
_EXTENSION = re.compile(r"\.s(\d+)p$|\.ts$", re.IGNORECASE)
_OPTION = re.compile(r"^[ \t]*#(?P<words>[^!\n]*)", re.MULTILINE)
Complex = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class _Option:
    """The option line, with its defaults."""

    factor: float = 1e9
    kind: str = "S"
    form: str = "MA"
    reference: float = 50.0
    swapped: bool = False


def is_touchstone(name: str, text: str) -> bool:
    """By its name, or by an option line that can be nothing else."""
    if _EXTENSION.search(name):
        return True
    found = _OPTION.search(text[:20_000])
    if found is None:
        return False
    words = found["words"].upper().split()
    known = [one in _FREQUENCY or one in _KINDS or one in _FORMS for one in words]
    return len(words) >= 3 and sum(known) >= min(3, len(words)) and "R" in words


def read_touchstone(name: str, text: str) -> Capture:
    """A one- or two-port's parameters over frequency, made into ordinary units.

    Z and Y of a version 1 file are multiplied out of their reference resistance.

    Raises:
        CaptureError: line and what was expected.
    """
    option, stated = _option(name, text)
    option = _version2(name, text, option)
    numbers = _numbers(name, text)
    ports = _ports(name, numbers)
    width = 1 + 2 * ports * ports
    if len(numbers) % width:
        raise CaptureError(
            name,
            f"{len(numbers)} numbers do not make rows of {width}, as a {ports}-port has",
            "the file is cut off, or another number of ports is meant",
        )
    table = _without_noise(np.array(numbers).reshape(-1, width))
    f_hz, values = table[:, 0] * option.factor, _complex(table[:, 1:], option.form)
    if np.any(np.diff(f_hz) <= 0.0):
        raise CaptureError(name, "its frequencies do not increase", "save it once more")
    version2 = "[VERSION]" in text.upper()
    channels, unit = _channels(option, values, ports, version2)
    return Capture(
        name,
        "Touchstone",
        Axis("frequency", f_hz),
        channels,
        (
            Assumed("option line", stated, "the file's own" if stated else "its defaults"),
            Assumed("parameters", f"{option.kind}, {ports} port{'s' * (ports > 1)}", unit),
            Assumed("reference", f"{option.reference:g} ohm", "the option line"),
        ),
        _questions(option, ports),
        tuple(_remarks(option, channels)),
        stated={"reference": f"{option.reference:g} ohm", "parameter": option.kind},
    )


def _option(name: str, text: str) -> tuple[_Option, str]:
    found = _OPTION.search(text)
    if found is None:
        return _Option(), ""
    words = found["words"].upper().split()
    factor, kind, form, reference = 1e9, "S", "MA", 50.0
    for k, word in enumerate(words):
        if word in _FREQUENCY:
            factor = _FREQUENCY[word]
        elif word in _FORMS:
            form = word
        elif word == "R":
            reference = _reference(name, words[k + 1 : k + 2])
        elif word in _KINDS:
            kind = word
        elif k == 0 or words[k - 1] != "R":
            raise CaptureError(
                name, f'"{word}" is no word of an option line', "expected # HZ S RI R 50"
            )
    return _Option(factor, kind, form, reference), "# " + " ".join(words)


_BEYOND = re.compile(r"^[ \t]*\[(?P<word>[^\]\n]+)\](?P<rest>[^!\n]*)", re.MULTILINE)


def _version2(name: str, text: str, option: _Option) -> _Option:
    """Words of version 2 that change what the numbers mean: taken in, or refused."""
    for found in _BEYOND.finditer(text[:20_000]):
        word, rest = found["word"].strip().upper(), found["rest"].split()
        if word == "REFERENCE":
            r = {_reference(name, [one]) for one in rest}
            if len(r) != 1:
                raise CaptureError(
                    name, "its ports have no one reference", "expected [Reference] 50 on one line"
                )
            option = replace(option, reference=r.pop())
        if word == "TWO-PORT DATA ORDER" and rest[:1] not in ([], ["21_12"]):
            option = replace(option, swapped=True)
        if word == "MATRIX FORMAT" and [one.upper() for one in rest[:1]] not in ([], ["FULL"]):
            raise CaptureError(name, "only half of its matrix is written", "save it in full")
    return option


def _reference(name: str, words: Sequence[str]) -> float:
    try:
        found = float(words[0])
    except (ValueError, IndexError):
        found = -1.0
    if not 0.0 < found < 1e9:
        raise CaptureError(name, "its option line names no reference after R", "expected R 50")
    return found


def _numbers(name: str, text: str) -> list[float]:
    found: list[float] = []
    for number, line in enumerate(text.split("\n"), 1):
        plain = line.partition("!")[0].strip()
        if plain.upper().startswith(("[NOISE DATA]", "[END]")):
            break
        if not plain or plain[0] in "#[":
            continue
        for word in plain.replace(",", " ").split():
            try:
                value = float(word)
            except ValueError as error:
                raise CaptureError(
                    name, f'line {number}: "{word[:40]}" is no number', "expected numbers alone"
                ) from error
            if not np.isfinite(value):
                raise CaptureError(
                    name, f"line {number}: {word[:40]} is no value", "measure it again"
                )
            found.append(value)
        if len(found) > 20_000_000:
            raise CaptureError(name, "it is too long", "save fewer points")
    if not found:
        raise CaptureError(name, "there are no numbers in it", "save it once more")
    return found


def _ports(name: str, numbers: Sequence[float]) -> int:
    said = _EXTENSION.search(name)
    if said is not None and said[1]:
        ports = int(said[1])
        if ports not in (1, 2):
            raise CaptureError(name, f"it has {ports} ports", "expected one or two")
        return ports
    for ports, width in ((1, 3), (2, 9)):
        f = np.array(numbers[::width])
        if len(numbers) % width == 0 and bool(np.all(np.diff(f) > 0.0)):
            return ports
    raise CaptureError(name, "it has neither one nor two ports", "name it NAME.s1p or NAME.s2p")


def _without_noise(table: NDArray[np.float64]) -> NDArray[np.float64]:
    """A two-port's noise parameters come after its own, from a lower frequency on."""
    back = np.flatnonzero(np.diff(table[:, 0]) <= 0.0)
    return table[: back[0] + 1] if len(back) and table.shape[1] == 9 else table


def _complex(pairs: NDArray[np.float64], form: str) -> Complex:
    first, second = pairs[:, ::2], pairs[:, 1::2]
    if form == "RI":
        return np.asarray(first + 1j * second)
    size = first if form == "MA" else 10.0 ** (first / 20.0)
    return np.asarray(size * np.exp(1j * np.radians(second)))


def _channels(
    option: _Option, values: Complex, ports: int, version2: bool
) -> tuple[tuple[Channel, ...], str]:
    kind, r = option.kind, option.reference
    unit, why = "1", "ratios"
    if kind == "Z":
        unit, why = "ohm", "version 1 states Z as a share of the reference"
        values = values if version2 else values * r
    elif kind == "Y":
        unit, why = "S", "version 1 states Y as a share of the reference's"
        values = values if version2 else values / r
    order = ("11",) if ports == 1 else ("11", "21", "12", "22")
    if ports > 1 and option.swapped:
        values = values[:, [0, 2, 1, 3]]
    return (
        tuple(Channel(f"{kind}{one}", unit, values[:, k]) for k, one in enumerate(order)),
        why,
    )


def _questions(option: _Option, ports: int) -> tuple[Question, ...]:
    if ports == 1 or option.kind != "S":
        return ()
    return (
        Question(
            "two-port",
            "is the part in series between the two ports, or across them (shunt)?",
            ("series", "shunt"),
            'two-port = "series"',
        ),
    )


def _remarks(option: _Option, channels: Sequence[Channel]) -> list[Remark]:
    found = []
    for one in channels:
        large = np.flatnonzero(np.abs(one.values) > 1.0)
        if option.kind == "S" and len(large):
            found.append(
                Remark(
                    "rows",
                    f"|{one.name}| is above 1 at {len(large)} points (up to "
                    f"{np.abs(one.values).max():.4g}), which no part alone can be: noise or "
                    "calibration there",
                )
            )
    return found


def impedance(capture: Capture, connected: str = "") -> Complex:
    """The impedance that a Touchstone capture shows, ohm, shape (points,).

    Args:
        capture: of S, Z or Y parameters.
        connected: of a two-port: "series" or "shunt".

    Source: series Z = 2 R (1 - S21) / S21, shunt Z = R S21 / (2 (1 - S21)), one-port
    Z = R (1 + S11) / (1 - S11): D. M. Pozar, Microwave Engineering, table of ABCD parameters
    (from memory).

    Raises:
        CaptureError: nothing there tells an impedance.
    """
    r = float(capture.stated["reference"].removesuffix(" ohm"))
    two = len(capture.channels) > 1
    kind = capture.stated["parameter"]
    first = np.asarray(capture.channels[0].values)
    if not two and kind == "Z":
        return first
    if not two and kind == "Y":
        return np.asarray(1.0 / first)
    if not two and kind == "S":
        return np.asarray(r * (1.0 + first) / (1.0 - first))
    if kind != "S" or connected not in ("series", "shunt"):
        raise CaptureError(
            capture.name,
            "it is not said how the part lies between the two ports",
            'expected two-port = "series" or "shunt"',
        )
    through = np.asarray(capture.channels[1].values)
    if connected == "series":
        return np.asarray(2.0 * r * (1.0 - through) / through)
    return np.asarray(r * through / (2.0 * (1.0 - through)))
