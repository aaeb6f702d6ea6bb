"""What samples give away about themselves: clipping, flat channels, too few cycles or samples."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures.capture import Axis, Channel, Question, Remark

FEWEST_CYCLES = 2.0
FEWEST_SAMPLES = 10.0
"""Samples a cycle; common practice, no source."""
LOWEST_HZ, HIGHEST_HZ = 1.0, 100e3
"""Beyond these a signal is asked about; common practice, no source."""
_LOOKED_AT = 1 << 18


def remarks(axis: Axis | None, channels: tuple[Channel, ...]) -> list[Remark]:
    """What to mind about each channel."""
    found = []
    for one in channels:
        if one.values.dtype.kind == "c" or not len(one.values):
            continue
        flat = _flat(one)
        found += [flat] if flat else _clipped(one)
        if axis is not None and axis.quantity == "time" and axis.even and not flat:
            found += _cycles(one, axis.even)
    return found


def doubtful_frequency(
    axis: Axis, channels: tuple[Channel, ...], asked: Sequence[Question]
) -> list[Question]:
    """A question where a signal lies far outside what loudspeakers are measured with.

    A heading that names the wrong unit of time puts it there, and nothing else would tell.
    """
    if axis.quantity != "time" or not axis.even or any(one.key == "time unit" for one in asked):
        return []
    heard = [one for one in channels if np.ptp(one.values) > 0.0]
    if not heard:
        return []
    f_hz = strongest(heard[0].values[:_LOOKED_AT]) / axis.even
    if LOWEST_HZ <= f_hz <= HIGHEST_HZ or f_hz <= 0.0:
        return []
    return [
        Question(
            "time unit",
            f"as the heading has it, {heard[0].name} is a signal of {f_hz:.3g} Hz, and every step "
            f"is {axis.even:.3g} s: is the unit of time right? (it is taken as written)",
            ("s", "ms", "us", "ns"),
            "",
            "as written",
        )
    ]


def _flat(one: Channel) -> Remark | None:
    low, high = float(np.min(one.values)), float(np.max(one.values))
    if low == high:
        return Remark("flat", f"{one.name} is flat: {low:g} throughout")
    few = np.unique(one.values[:_LOOKED_AT])
    if len(few) <= 3 and len(one.values) > 100:
        return Remark("flat", f"{one.name} is flat but for {len(few) - 1} steps of read-out")
    return None


def _clipped(one: Channel) -> list[Remark]:
    """Samples that crowd at the largest or smallest value, as a sine's never do.

    Of a sine that is read in steps, the outermost step holds at most 2.4 times as many samples
    as the next one: (arccos(1 - 1/A)) against (arccos(1 - 2/A) - arccos(1 - 1/A)).
    """
    found = []
    for word, largest in (("top", True), ("bottom", False)):
        edge = float(np.max(one.values) if largest else np.min(one.values))
        at_edge = one.values == edge
        count = int(np.count_nonzero(at_edge))
        if count < 5 or count < 0.005 * len(one.values) or _longest(at_edge) < 3:
            continue
        if count > 6 * _next_to(one.values, edge, largest):
            found.append(
                Remark(
                    "clipping",
                    f"{one.name} looks clipped at the {word}: {count} samples at "
                    f"{edge:.4g} (unless it is a square wave)",
                )
            )
    return found


def _next_to(values: NDArray[Any], edge: float, largest: bool) -> int:
    """How many samples there are at the value next to the edge; a look at some is enough."""
    below = values[: 4 * _LOOKED_AT]
    below = below[below != edge]
    if not len(below):
        return 0
    second = np.max(below) if largest else np.min(below)
    return int(np.count_nonzero(below == second) * len(values) / min(len(values), 4 * _LOOKED_AT))


def _longest(flags: NDArray[np.bool_]) -> int:
    padded = np.zeros(len(flags) + 2, dtype=np.int8)
    padded[1:-1] = flags
    edges = np.flatnonzero(np.diff(padded))
    return int(np.max(edges[1::2] - edges[::2], initial=0))


def _cycles(one: Channel, step_s: float) -> list[Remark]:
    values = one.values[:_LOOKED_AT]
    whole = len(values) == len(one.values)
    f = strongest(values) / step_s
    if f <= 0.0:
        return []
    found = []
    cycles = f * step_s * len(values)
    if whole and cycles < FEWEST_CYCLES:
        found.append(
            Remark("cycles", f"{one.name} holds {cycles:.2g} cycles; at least 2 tell more")
        )
    per_cycle = 1.0 / (f * step_s)
    if per_cycle < FEWEST_SAMPLES:
        found.append(
            Remark(
                "samples",
                f"{one.name} has {per_cycle:.2g} samples a cycle; with fewer than 10 a wrong "
                "timebase can show a plausible slow sine: compare with the generator's frequency",
            )
        )
    return found


def strongest(values: NDArray[Any]) -> float:
    """The strongest frequency of a record in cycles a sample, between the bins of its spectrum.

    The record is widened by zeros to twice its length and a peak is placed by the parabola
    through three bins (common practice, no source): near enough to begin a fit with.
    """
    count = len(values)
    if count < 4:
        return 0.0
    from scipy.fft import next_fast_len, rfft

    window = np.hanning(count)
    centred = np.asarray(values, dtype=float)
    centred = centred - np.average(centred, weights=window)
    size = next_fast_len(4 * count, real=True)
    power = np.abs(rfft(centred * window, size))
    k = int(np.argmax(power[1:])) + 1
    if not power[k] > 0.0:
        return 0.0
    if k + 1 >= len(power):
        return k / size
    a, b, c = np.log(np.maximum(power[k - 1 : k + 2], 1e-300))
    bend = a - 2.0 * b + c
    return float((k + (0.5 * (a - c) / bend if bend < 0.0 else 0.0)) / size)
