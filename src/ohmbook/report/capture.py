"""A capture file on paper: what is in it, what was taken for granted, what is asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from rich.console import RenderableType

from ohmbook.captures.capture import Capture, Channel, Question
from ohmbook.captures.phasors import Ratios
from ohmbook.captures.sine import Complex, SineFit
from ohmbook.report.layout import bullets, section, table
from ohmbook.units.show import show_plain

SHOWN = 24
"""Rows of a table of phasors; more are in the reading and in the document."""


def capture_document(capture: Capture) -> dict[str, Any]:
    """A capture without its samples, as JSON."""
    axis = capture.axis
    return {
        "name": capture.name,
        "form": capture.form,
        "sha256": capture.sha256,
        "bytes": capture.size,
        "axis": None if axis is None else {"quantity": axis.quantity, "rows": len(axis.values)},
        "channels": [{"name": one.name, "unit": one.unit} for one in capture.channels],
        "assumed": [{"what": o.what, "value": o.value, "why": o.why} for o in capture.assumed],
        "questions": [
            {
                "key": one.key,
                "text": one.text,
                "choices": list(one.choices),
                "example": one.example,
                "default": one.default or None,
            }
            for one in capture.questions
        ],
        "remarks": [{"kind": one.kind, "message": one.message} for one in capture.remarks],
    }


def capture_pages(capture: Capture, notes: Sequence[str]) -> list[RenderableType]:
    """What is in a capture, what was assumed, what is asked, what to mind."""
    pages = [section(f"{capture.name}: {_what(capture)}", table(_HEADS, _channels(capture)))]
    pages.append(section("Taken for granted", bullets(_assumed(capture))))
    if capture.questions:
        pages.append(section("Asked", bullets(map(_question, capture.questions))))
    minded = [*(one.message for one in capture.remarks), *notes]
    if minded:
        pages.append(section("To mind", bullets(minded)))
    return pages


_HEADS = ("channel", ">smallest", ">largest", "unit")


def _what(capture: Capture) -> str:
    axis = capture.axis
    if axis is None or not len(axis.values):
        return "not read yet, a question comes first"
    rows = f"{len(axis.values)} rows"
    first, last = float(axis.values[0]), float(axis.values[-1])
    if axis.quantity == "index":
        return f"{rows}, the time between them is not known yet"
    if axis.quantity == "frequency":
        return f"{rows}, {show_plain(first, 'Hz')} to {show_plain(last, 'Hz')}"
    return f"{rows} over {show_plain(last - first, 's')}"


def _channels(capture: Capture) -> Iterator[tuple[str, str, str, str]]:
    for one in capture.channels:
        low, high = _span(one)
        yield one.name, f"{low:.5g}", f"{high:.5g}", one.unit or "?"


def _span(one: Channel) -> tuple[float, float]:
    size = np.abs(one.values) if one.values.dtype.kind == "c" else one.values
    return float(np.min(size)), float(np.max(size))


def _assumed(capture: Capture) -> Iterator[str]:
    for one in capture.assumed:
        yield f"{one.what}: {one.value} ({one.why})"


def _question(one: Question) -> str:
    choices = f" [{', '.join(one.choices)}]" if one.choices else ""
    value = one.choices[0] if one.choices else "..."
    return f"{one.text}{choices}: --answer '{one.key}={value}'"


def sine_page(capture: Capture, found: SineFit) -> RenderableType:
    """The sine in one channel."""
    u_size, u_turn = found.u_polar(0)
    one = capture.channels[0]
    size = 2.0 * abs(found.phasors[0])
    rows = [
        ("frequency", f"{found.f_hz:.8g} Hz", f"{found.u_f_hz:.2g} Hz"),
        (f"{one.name}, peak to peak", f"{size:.6g} {one.unit}", f"{2 * u_size:.2g} {one.unit}"),
        (
            "phase at the middle",
            f"{_deg(found.phasors[0]):.4f} deg",
            f"{np.degrees(u_turn):.2g} deg",
        ),
        ("cycles", f"{found.cycles:.4g}", ""),
    ]
    return section("The sine in it", table(("", ">value", ">u"), rows))


def ratio_page(found: Ratios) -> RenderableType:
    """One channel over the other."""
    rows = []
    for k in _some(len(found.f_hz)):
        h = found.ratio[k]
        u = float(np.sqrt(np.trace(found.covariance[k]) / 2.0) / abs(h))
        rows.append((f"{found.f_hz[k]:.7g}", f"{abs(h):.5g}", f"{_deg(h):.3f}", f"{u:.1e}"))
    heads = (">frequency/Hz", ">ratio", ">phase/deg", ">u by noise alone")
    return section(f"One channel over the other: {found.way}", table(heads, rows))


def impedance_page(f_hz: Any, z: Complex, way: str) -> RenderableType:
    """Impedance over frequency, and what coil or capacitor it would be."""
    rows = []
    for k in _some(len(f_hz)):
        w = 2.0 * np.pi * float(f_hz[k])
        x = float(z[k].imag)
        as_part = (
            show_plain(x / w, "H", 4) if x > 0 else show_plain(-1 / (w * x), "F", 4) if x else ""
        )
        rows.append(
            (f"{f_hz[k]:.7g}", f"{abs(z[k]):.5g}", f"{_deg(z[k]):.3f}", f"{z[k].real:.4g}", as_part)
        )
    heads = (">frequency/Hz", ">magnitude/ohm", ">phase/deg", ">resistance/ohm", ">as L or C")
    return section(f"Impedance: {way}", table(heads, rows))


def _deg(value: complex) -> float:
    return float(np.degrees(np.angle(value)))


def _some(count: int) -> list[int]:
    """At most so many rows, evenly."""
    if count <= SHOWN:
        return list(range(count))
    return [round(k) for k in np.linspace(0, count - 1, SHOWN)]
