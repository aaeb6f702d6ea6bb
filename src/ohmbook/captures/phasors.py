"""From a capture's samples to phasors over frequency: one sine, stepped sines, or a swept sine.

What two channels share cancels in their ratio. What they don't share (gain, time skew) is a cause
of its own and not in the covariance here: it goes into the fit by name, once for all frequencies.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures import sine
from ohmbook.captures.capture import Capture, Channel, Floats
from ohmbook.captures.signs import strongest
from ohmbook.captures.sine import Complex, SineFit
from ohmbook.errors import CaptureError


def time_skew(fits: Sequence[SineFit], over: int, under: int) -> tuple[float, float]:
    """How much later one channel is than another that is on the same node, in seconds.

    The phase of the ratio is -w skew: weighted least squares over all frequencies.

    Args:
        fits: of records at one frequency or more.
        over: the channel that may be late.
        under: the channel that it is compared with.

    Returns:
        (skew, its standard uncertainty).
    """
    w = np.array([2.0 * np.pi * one.f_hz for one in fits])
    phase, variance = np.empty(len(fits)), np.empty(len(fits))
    for k, one in enumerate(fits):
        h, covariance = one.ratio(over, under)
        across = np.array([-h.imag, h.real]) / abs(h) ** 2
        phase[k], variance[k] = np.angle(h), across @ covariance @ across
    down = float(np.sum(w**2 / variance))
    return float(np.sum(-w * phase / variance)) / down, down**-0.5


@dataclass(frozen=True, slots=True, eq=False)
class Ratios:
    """One channel over another, over frequency.

    Args:
        f_hz: shape (m,).
        ratio: complex, shape (m,).
        covariance: of (Re, Im), shape (m, 2, 2): noise alone.
        way: how it was found, in words.
        remarks: what to mind, in words.
    """

    f_hz: Floats
    ratio: Complex
    covariance: Floats
    way: str
    remarks: tuple[str, ...] = ()


def ratios(capture: Capture, over: str, under: str) -> Ratios:
    """The ratio of two channels of a waveform: one sine, stepped sines or a swept sine.

    Args:
        capture: with an axis of time.
        over, under: names of its channels.

    Raises:
        CaptureError: there is no time, no such channel, or no sine.
    """
    axis = capture.axis
    if axis is None or axis.quantity != "time" or not axis.even:
        raise CaptureError(
            capture.name,
            "it has no even time yet, so no frequency can be told",
            "answer its questions first" if capture.open else "capture at an even rate",
        )
    upper, lower = _channel(capture, over), _channel(capture, under)
    if float(np.ptp(lower.values)) == 0.0:
        raise CaptureError(capture.name, f"{under} is flat", "check its clip")
    spans = segments(np.asarray(lower.values), axis.even)
    if spans is None:
        return swept(np.asarray(upper.values), np.asarray(lower.values), axis.even)
    fits = [sine.fit(axis.values[one], [upper.values[one], lower.values[one]]) for one in spans]
    kept = sorted((one for one in fits if _sound(one)), key=lambda one: one.f_hz)
    if not kept:
        raise CaptureError(capture.name, "no clean sine was found in it", "is it a sine at all?")
    found = [one.ratio(0, 1) for one in kept]
    way = "one sine" if len(spans) == 1 else f"{len(kept)} stepped sines"
    return Ratios(
        np.array([one.f_hz for one in kept]),
        np.array([one[0] for one in found]),
        np.array([one[1] for one in found]),
        f"{way}, fitted",
        tuple(_distorted(kept)),
    )


def _channel(capture: Capture, name: str) -> Channel:
    found = capture.channel(name)
    if found is None:
        names = ", ".join(one.name for one in capture.channels)
        raise CaptureError(capture.name, f'it has no channel "{name}"', f"expected one of {names}")
    return found


def _sound(one: SineFit) -> bool:
    """Whether the sine stands out of what is left."""
    return bool(abs(one.phasors[1]) > 2.0 * one.noise[1] and one.cycles > 0.5)


def _distorted(fits: Sequence[SineFit]) -> Iterator[str]:
    """Remarks on what is left beside the sines of the channel that drives."""
    worst = max(fits, key=lambda one: float(one.noise[1] / abs(one.phasors[1])))
    share = float(worst.noise[1] * np.sqrt(2.0) / abs(worst.phasors[1]))
    if share > 0.05:
        yield (
            f"at {worst.f_hz:.4g} Hz what is left beside the sine is {share:.0%} of it: noise, "
            "distortion, or no sine"
        )


def segments(y: NDArray[Any], step_s: float) -> list[slice] | None:
    """Where a record holds one steady sine each; None where the frequency glides.

    The record is looked at in windows that overlap by half; neighbours of one frequency make a
    segment, which gives up a window's worth at its edges, where the next step begins.
    """
    count = len(y)
    width = _window(count, step_s)
    if width is None:
        return [slice(0, count)]
    starts = np.arange(0, count - width + 1, width // 2)
    f = np.array([strongest(y[a : a + width]) for a in starts])
    loud = np.array([float(np.std(y[a : a + width])) for a in starts])
    heard = loud > 0.05 * float(np.max(loud))
    runs = _runs(f, heard, 0.3 / width)
    if len(runs) == 1 and runs[0][1] - runs[0][0] >= 0.9 * np.count_nonzero(heard):
        return [_span(runs[0], starts, width, trim=not heard.all())]
    long_ = [run for run in runs if run[1] - run[0] >= 3]
    steady = sum(run[1] - run[0] for run in long_)
    if steady < 0.5 * np.count_nonzero(heard):
        return None
    return [_span(run, starts, width, trim=True) for run in long_]


def _window(count: int, step_s: float) -> int | None:
    """Samples in a window, about a fifth of a second; None where the record is one step."""
    seconds = count * step_s
    width = int(0.2 / step_s) if seconds > 4.0 else count // 40
    return width if width >= 256 else None


def _runs(f: Floats, heard: NDArray[np.bool_], near: float) -> list[tuple[int, int]]:
    """Neighbouring windows of one frequency: first and one past the last."""
    runs, begun = [], 0
    for k in range(1, len(f) + 1):
        goes_on = k < len(f) and heard[k] and heard[k - 1] and abs(f[k] - f[k - 1]) <= near
        if not goes_on:
            if heard[begun]:
                runs.append((begun, k))
            begun = k
    return runs


def _span(run: tuple[int, int], starts: NDArray[np.intp], width: int, trim: bool) -> slice:
    # what stands next to silence or to another step is faded or mixed: a whole window goes
    long_ = run[1] - run[0] >= 5
    cut = (width if long_ else width // 2) if trim else 0
    return slice(int(starts[run[0]]) + cut, int(starts[run[1] - 1]) + width - cut)


BANDS_PER_OCTAVE = 12
_COMMON = 0.4
"""Relative uncertainty of a band's ratio beyond which the channels have nothing in common there."""


def swept(over: NDArray[Any], under: NDArray[Any], step_s: float) -> Ratios:
    """The ratio under a swept sine, by deconvolution: spectrum over spectrum, band by band.

    Within each band the ratio is a parabola over frequency, by least squares on all its bins:
    Y = (h + s (f - f0) + c (f - f0)^2) X + N. What is left there is the noise, and gives the
    covariance.
    Source: the least-squares (H1) estimate of a frequency response, J. S. Bendat and A. G.
    Piersol, Random Data, ch. 6 (from memory), with slope and bend within the band.
    """
    from scipy.fft import next_fast_len, rfft

    count = len(under)
    size = next_fast_len(count, real=True)
    x = rfft(under - np.mean(under), size)
    y = rfft(over - np.mean(over), size)
    to_hz = 1.0 / (size * step_s)
    power = np.abs(x) ** 2
    edges = _bands(power, to_hz)
    rows = [_band(x[a:b], y[a:b], a) for a, b in edges]
    kept = [row for row in rows if row is not None and row[2] < (_COMMON * abs(row[1])) ** 2]
    if not kept:
        raise CaptureError(
            sine.NAME,
            "the channels have no signal in common",
            "is it a sine, a stepped or swept one?",
        )
    return Ratios(
        np.array([row[0] * to_hz for row in kept]),
        np.array([row[1] for row in kept]),
        np.array([np.eye(2) * row[2] / 2.0 for row in kept]),
        f"a swept sine by deconvolution, {len(kept)} bands",
    )


def _bands(power: Floats, to_hz: float) -> list[tuple[int, int]]:
    """Bands with at least 8 bins in which the sweep was heard."""
    last = len(power) - 1
    edges, low = [], max(8.0, 20.0 / to_hz / 2.0 ** (0.5 / BANDS_PER_OCTAVE))
    while low < last:
        high = max(low * 2.0 ** (1.0 / BANDS_PER_OCTAVE), low + 8.0)
        if high <= last:
            edges.append((int(low), int(high)))
        low = high
    # a sweep falls by 3 dB an octave at most: 20 dB below that there is none
    level = [float(np.mean(power[a:b]) * (a + b)) for a, b in edges]
    loudest = max(level, default=0.0)
    return [edge for edge, one in zip(edges, level, strict=True) if one > 0.01 * loudest]


def _band(x: Complex, y: Complex, first: int) -> tuple[float, complex, float] | None:
    """(centre in bins, ratio there, variance of the complex ratio)."""
    k = np.arange(len(x), dtype=float)
    weight = np.abs(x) ** 2
    total = float(np.sum(weight))
    if total <= 0.0 or len(x) < 4:
        return None
    centre = float(np.sum(k * weight)) / total
    off = (k - centre) / len(x)
    design = np.column_stack([x, off * x, off**2 * x])
    best, *_ = np.linalg.lstsq(design, y, rcond=None)
    left = y - design @ best
    # the middle of a parabola is known less well than a mean: by the inverse of its normal matrix
    own = float(np.linalg.inv((design.conj().T @ design).real)[0, 0])
    variance = float(np.sum(np.abs(left) ** 2)) / (len(x) - 3) * own
    return first + centre, complex(best[0]), variance


def impedance(found: Ratios, resistor_ohm: float, across: str) -> tuple[Complex, Floats]:
    """The impedance behind a reference resistor, and its covariance from noise.

    Z = R H / (1 - H) where H is the voltage across the part over the whole, and Z = R (1 - H) / H
    where it is the one across the resistor (voltage divider, any textbook).

    Args:
        found: ratios of the one channel over the input.
        resistor_ohm: the reference resistor.
        across: "part" or "resistor".

    Returns:
        (impedance in ohm, covariance of its real and imaginary part).
    """
    h = found.ratio
    if across == "resistor":
        z, slope = resistor_ohm * (1.0 - h) / h, -resistor_ohm / h**2
    else:
        z, slope = resistor_ohm * h / (1.0 - h), resistor_ohm / (1.0 - h) ** 2
    turn = np.array([[slope.real, -slope.imag], [slope.imag, slope.real]]).transpose(2, 0, 1)
    return np.asarray(z), np.asarray(turn @ found.covariance @ turn.transpose(0, 2, 1))


def swapped(found: Ratios) -> str:
    """A remark where the channels look swapped, or ""."""
    if float(np.median(np.abs(found.ratio))) > 1.02:
        return (
            "the channel taken as the part's is the larger one at most frequencies, which behind "
            "a resistor it cannot be: the channels look swapped"
        )
    return ""
