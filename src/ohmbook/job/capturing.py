"""A capture file looked at: what is in it, what it tells of a part, and that as a reading."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from ohmbook import captures
from ohmbook.captures import Capture, phasors, sine
from ohmbook.captures.capture import Floats
from ohmbook.captures.decoding import MOST_SOUND_BYTES
from ohmbook.captures.outline import preview
from ohmbook.captures.phasors import Ratios
from ohmbook.captures.sine import Complex, SineFit
from ohmbook.captures.touchstone import impedance as ports_impedance
from ohmbook.errors import CaptureError, QuantityError
from ohmbook.job.capture_text import impedance_text, sweep_text
from ohmbook.units.parse import parse_quantity

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Clipped:
    """What was read, and through which resistor.

    Args:
        part: the part's name, for the reading.
        resistor: the reference resistor as written, or "".
    """

    part: str = ""
    resistor: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """What an impedance or a ratio is over frequency."""

    f_hz: Floats
    values: Complex
    u: Floats
    unit: str
    way: str


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """A capture, and what it tells.

    Args:
        capture: as read.
        sines: a sine in each channel, where there are samples over time.
        ratios: one channel over the other, where there are two.
        told: impedance over frequency, where it can be told.
        reading: the same as a reading for a sheet; "" where there is none.
        notes: what stood in the way, or is to be minded, in words.
    """

    capture: Capture
    sines: SineFit | None = None
    ratios: Ratios | None = None
    told: Told | None = None
    reading: str = ""
    notes: tuple[str, ...] = field(default_factory=tuple)

    def document(self) -> dict[str, Any]:
        """As one JSON object."""
        from ohmbook.report.capture import capture_document

        ratios = (
            None if self.ratios is None else _complex_document(self.ratios.f_hz, self.ratios.ratio)
        )
        told = None if self.told is None else _complex_document(self.told.f_hz, self.told.values)
        return {
            **capture_document(self.capture),
            "ratio": ratios,
            "impedance": told,
            "reading": self.reading,
            "preview": preview(self.capture),
            "notes": list(self.notes),
        }


def _complex_document(f_hz: Floats, values: Complex) -> dict[str, Any]:
    return {
        "frequency_hz": f_hz.tolist(),
        "magnitude": np.abs(values).tolist(),
        "phase_deg": np.degrees(np.angle(values)).tolist(),
    }


def look(
    path: Path, answers: Mapping[str, str], clipped: Clipped, progress: Progress | None = None
) -> Looked:
    """Read a capture file and work out what it tells.

    Raises:
        CaptureError: what is wrong with the file or an answer.
    """
    if path.stat().st_size > MOST_SOUND_BYTES:
        raise CaptureError(
            path.name,
            f"the file has more than {MOST_SOUND_BYTES // 1_000_000} MB",
            "save the part of the capture that matters",
        )
    return look_at(path.read_bytes(), path.name, answers, clipped, progress)


def look_at(
    data: bytes,
    name: str,
    answers: Mapping[str, str],
    clipped: Clipped,
    progress: Progress | None = None,
) -> Looked:
    """The same of bytes at hand, as a page has them.

    Raises:
        CaptureError: what is wrong with them or with an answer.
    """
    return looked(captures.read(data, name, answers, progress), answers, clipped)


def looked(capture: Capture, answers: Mapping[str, str], clipped: Clipped) -> Looked:
    """What a capture tells."""
    axis = capture.axis
    if axis is None or not capture.channels:
        return Looked(capture)
    if axis.quantity == "frequency":
        return _spectrum(capture, answers.get("two-port", ""), clipped)
    if axis.quantity == "index":
        return Looked(capture)
    if len(capture.channels) == 1:
        return _one(capture)
    return _two(capture, answers, clipped)


def _one(capture: Capture) -> Looked:
    assert capture.axis is not None
    try:
        found = sine.fit(capture.axis.values, [capture.channels[0].values])
    except CaptureError as error:
        return Looked(capture, notes=(f"{error.why}; {error.advice}",))
    return Looked(capture, found)


def _two(capture: Capture, answers: Mapping[str, str], clipped: Clipped) -> Looked:
    names = [one.name for one in capture.channels]
    source = answers.get("input", "") or names[0]
    across = answers.get("across", "") or next(one for one in names if one != source)
    probe_on = answers.get("on", "part")
    if probe_on not in ("part", "resistor"):
        raise CaptureError(
            capture.name, f'on = "{probe_on}" is not known', "expected part or resistor"
        )
    try:
        ratios = phasors.ratios(capture, across, source)
    except CaptureError as error:
        return Looked(capture, notes=(f"{error.why}; {error.advice}",))
    swapped = phasors.swapped(ratios) if clipped.resistor else ""
    notes = (*ratios.remarks, *([swapped] if swapped else []))
    if not clipped.resistor or swapped:
        return Looked(capture, None, ratios, notes=notes)
    ohms = _resistor(clipped.resistor)
    z, covariance = phasors.impedance(ratios, ohms, probe_on)
    u = np.sqrt((covariance[:, 0, 0] + covariance[:, 1, 1]) / 2.0)
    told = Told(ratios.f_hz, z, u, "ohm", f"{ratios.way}, behind {clipped.resistor}")
    reading = sweep_text(capture, ratios, (clipped.part, clipped.resistor, probe_on))
    return Looked(capture, None, ratios, told, reading, notes)


def _resistor(text: str) -> float:
    ohms = parse_quantity(text, "ohm").value
    if not ohms > 0.0:
        raise QuantityError(text, "more than 0 ohm", "there is no such resistor")
    return ohms


def _spectrum(capture: Capture, two_port: str, clipped: Clipped) -> Looked:
    assert capture.axis is not None
    z: Complex | None = None
    if capture.form == "Touchstone":
        try:
            z = ports_impedance(capture, two_port)
        except CaptureError as error:
            return Looked(capture, notes=(f"{error.why}; {error.advice}",))
    else:
        one = next((c for c in capture.channels if c.values.dtype.kind == "c"), None)
        if one is not None and one.unit == "ohm":
            z = np.asarray(one.values)
    if z is None:
        return Looked(capture)
    f_hz = capture.axis.values
    fine = np.isfinite(z) & (np.abs(z) > 0.0) & (f_hz > 0.0)
    told = Told(f_hz[fine], z[fine], np.zeros(int(fine.sum())), "ohm", "as the file has it")
    return Looked(
        capture, told=told, reading=impedance_text(capture, told.f_hz, told.values, clipped.part)
    )
