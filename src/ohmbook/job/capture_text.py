"""What a capture tells, as a reading that can stand in a sheet."""

from __future__ import annotations

import json

import numpy as np

from ohmbook.captures import Capture
from ohmbook.captures.capture import Floats
from ohmbook.captures.phasors import Ratios
from ohmbook.captures.sine import Complex

MOST_ROWS = 60
"""Rows of a reading; of more, those nearest to even steps on a log scale are taken."""
FINEST = 1e-4
"""Relative uncertainty that no row goes below: what is finer is not noise's to say."""


def sweep_text(capture: Capture, found: Ratios, clipped: tuple[str, str, str]) -> str:
    """A `sweep` reading: the ratio of two channels through a reference resistor.

    Args:
        capture: where it comes from.
        found: the ratios.
        clipped: the part's name, the resistor as written, and what the second channel was on.
    """
    part, resistor, probe_on = clipped
    head = [("kind", "sweep"), ("part", part or "L1"), ("resistor", resistor)]
    head += [("probe_on", probe_on), ("capture", _provenance(capture))]
    rows = ["frequency/Hz  ratio/%  phase/deg  u/%"]
    for k in thinned(found.f_hz):
        h = found.ratio[k]
        u = float(np.sqrt(np.trace(found.covariance[k]) / 2.0) / abs(h))
        rows.append(
            f"{found.f_hz[k]:.7g}  {100 * abs(h):.6g}  {_degrees(h):.5g}  "
            f"{100 * max(u, FINEST):.3g}"
        )
    return _block(head, rows)


def impedance_text(capture: Capture, f_hz: Floats, z: Complex, part: str) -> str:
    """An `impedance` reading: size and angle over frequency."""
    head = [("kind", "impedance"), ("part", part or "L1"), ("note", _provenance(capture))]
    rows = ["frequency/Hz  magnitude/ohm  phase/deg"]
    rows += [f"{f_hz[k]:.7g}  {abs(z[k]):.6g}  {_degrees(z[k]):.5g}" for k in thinned(f_hz)]
    return _block(head, rows)


def _degrees(value: complex) -> float:
    return float(np.degrees(np.angle(value)))


def _provenance(capture: Capture) -> str:
    return f"{capture.name}, sha256 {capture.sha256[:16]}"


def _block(head: list[tuple[str, str]], rows: list[str]) -> str:
    lines = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in head if value]
    return "\n".join(["[[readings]]", *lines, 'table = """', *rows, '"""', ""])


def thinned(f_hz: Floats) -> list[int]:
    """Which rows to keep: each frequency once, and no more than a table can hold."""
    _, first = np.unique(f_hz, return_index=True)
    kept = [int(k) for k in first if f_hz[k] > 0.0]
    if len(kept) <= MOST_ROWS:
        return kept
    at = np.log(f_hz[kept])
    wanted = np.linspace(at[0], at[-1], MOST_ROWS)
    return [kept[k] for k in np.unique(np.abs(at[None, :] - wanted[:, None]).argmin(axis=1))]
