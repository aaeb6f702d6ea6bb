"""The three- and four-parameter sine fit of IEEE Std 1057, several channels with one frequency.

y_k = A_k cos(w t) + B_k sin(w t) + C_k, by least squares; w known (three parameters a channel) or
shared and fitted too. Time counts from the middle of the record, where frequency and phase are
least entangled. Source: IEEE Std 1057-2017, annex A (three- and four-parameter fits, from
memory); the covariance is s^2 (D'D)^-1 of the linearised fit, channels weighted by their noise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures.capture import Floats
from ohmbook.captures.signs import strongest
from ohmbook.errors import CaptureError

Complex = NDArray[np.complex128]
_MOST_TURNS = 50
_LEAST_ROWS = 6
_PIECE = 1 << 17
NAME = "the record"


@dataclass(frozen=True, slots=True, eq=False)
class SineFit:
    """A sine in every channel of a record.

    Args:
        f_hz: the frequency.
        phasors: shape (channels,); y = Re(phasor e^{j w (t - middle)}) + offset, peak amplitude.
        offsets: shape (channels,).
        noise: standard deviation of what is left, shape (channels,).
        middle_s: the time from which phases count.
        covariance: of (Re P, Im P, offset) channel by channel, then the frequency in Hz; shape
            (3 channels + 1, 3 channels + 1). Row and column of a known frequency are zero.
        cycles: how many the record holds.
    """

    f_hz: float
    phasors: Complex
    offsets: Floats
    noise: Floats
    middle_s: float
    covariance: Floats
    cycles: float

    @property
    def u_f_hz(self) -> float:
        """Standard uncertainty of the frequency, 0 where it was known."""
        return float(np.sqrt(self.covariance[-1, -1]))

    def u_polar(self, channel: int) -> tuple[float, float]:
        """Standard uncertainties of a channel's peak amplitude and of its phase in radians."""
        p = self.phasors[channel]
        size = abs(p)
        along = np.array([p.real, p.imag]) / size
        across = np.array([-p.imag, p.real]) / size**2
        own = self.covariance[3 * channel : 3 * channel + 2, 3 * channel : 3 * channel + 2]
        return float(np.sqrt(along @ own @ along)), float(np.sqrt(across @ own @ across))

    def ratio(self, over: int, under: int) -> tuple[complex, Floats]:
        """One channel over another: the complex ratio and the covariance of (Re, Im).

        Noise is each channel's own; gain and time skew between channels are causes of their own.
        """
        h = self.phasors[over] / self.phasors[under]
        slope = np.zeros((2, len(self.covariance)))
        for channel, by in ((over, 1.0 / self.phasors[under]), (under, -h / self.phasors[under])):
            slope[:, 3 * channel : 3 * channel + 2] += [[by.real, -by.imag], [by.imag, by.real]]
        return complex(h), np.asarray(slope @ self.covariance @ slope.T)


def fit(t_s: Floats, channels: Sequence[NDArray[Any]], f_hz: float | None = None) -> SineFit:
    """Fit one sine to every channel, all of the same frequency.

    Args:
        t_s: times, shape (n,), need not be even where `f_hz` is given.
        channels: each shape (n,).
        f_hz: the frequency where it is known (three parameters a channel), else it is fitted.

    Returns:
        Phasors, offsets, noise and covariance.

    Raises:
        CaptureError: there are too few samples, or no sine is there.
    """
    if len(t_s) < _LEAST_ROWS:
        raise CaptureError(NAME, f"{len(t_s)} samples are too few for a sine", "capture more of it")
    middle = float(t_s[0] + t_s[-1]) / 2.0
    record = _Record(t_s, tuple(channels), middle)
    w = _searched(record) if f_hz is None else 2.0 * np.pi * f_hz
    return _solved(record, w, known=f_hz is not None)


@dataclass(frozen=True, slots=True, eq=False)
class _Record:
    """A record, handed out in pieces, so that a long one needs no more memory than a short."""

    t_s: Floats
    channels: tuple[NDArray[Any], ...]
    middle: float

    def __len__(self) -> int:
        return len(self.t_s)

    @property
    def span(self) -> float:
        """From the first to the last sample, in seconds."""
        return float(self.t_s[-1] - self.t_s[0])

    def pieces(self) -> Iterator[tuple[Floats, Floats]]:
        """Times from the middle, shape (m,), and samples, shape (channels, m)."""
        for k in range(0, len(self), _PIECE):
            some = slice(k, k + _PIECE)
            y = [np.asarray(one[some], dtype=float) for one in self.channels]
            yield self.t_s[some] - self.middle, np.array(y)

    def about_middle(self, count: int) -> _Record:
        """The samples around the middle; times still count from the whole record's middle."""
        first = (len(self) - count) // 2
        some = slice(first, first + count)
        return _Record(self.t_s[some], tuple(one[some] for one in self.channels), self.middle)


def _searched(record: _Record) -> float:
    """The angular frequency of least squares over all channels.

    A long record is begun in its middle and widened, since a frequency that is known from a short
    stretch places the turns of a longer one.
    """
    count = min(len(record), _PIECE)
    short = record.about_middle(count)
    ((t, y),) = short.pieces()
    if not np.any(np.ptp(y, axis=1) > 0.0):
        raise CaptureError(NAME, "all channels are flat, no sine is there", "check the clips")
    w = _climbed(short, _start(t, y))
    while count < len(record):
        count = min(8 * count, len(record))
        w = _climbed(record.about_middle(count), w)
    return abs(w)


def _climbed(record: _Record, w: float) -> float:
    step = 2.0 * np.pi / record.span
    for _ in range(_MOST_TURNS):
        shift = float(np.clip(_newton(_linear(record, w)), -0.5 * step, 0.5 * step))
        w += shift
        if abs(shift) <= 1e-13 * abs(w) + 1e-9 * step:
            return w
    raise CaptureError(NAME, "no single sine fits it", "is it a sine, of one frequency?")


def _start(t: Floats, y: Floats) -> float:
    """Near the best frequency: a spectrum's peak, then the best of some around it."""
    span = float(np.ptp(t))
    loudest = y[int(np.argmax(np.var(y, axis=1)))]
    guess = strongest(loudest) * (len(t) - 1) / span
    near = guess + np.linspace(-1.0, 1.0, 9) / span
    # where only few cycles are there, the spectrum's peak is drawn towards zero
    if guess * span < 4.0:
        near = np.concatenate([near, np.arange(0.4, 6.0, 0.2) / span])
    some = _thinned(t, guess)
    left = [(_left(t[some], loudest[some], 2.0 * np.pi * f), f) for f in near if f * span > 0.3]
    if not left:
        raise CaptureError(NAME, "it holds less than a third of a cycle", "capture more of it")
    return float(2.0 * np.pi * min(left)[1])


def _thinned(t: Floats, guess: float) -> slice:
    """Enough samples to judge a start by."""
    per_cycle = len(t) / max(guess * float(np.ptp(t)), 1.0)
    most = len(t) // 20_000
    return slice(None, None, max(1, min(most, int(per_cycle / 8.0))))


def _left(t: Floats, y: Floats, w: float) -> float:
    d = _design(t, w)
    pull = d.T @ y
    # a little is added to the diagonal for records so short that the columns are alike
    normal = d.T @ d + 1e-12 * len(t) * np.eye(3)
    return float(y @ y - pull @ np.linalg.solve(normal, pull))


def _design(t: Floats, w: float) -> Floats:
    turn = w * t
    return np.column_stack([np.cos(turn), np.sin(turn), np.ones_like(turn)])


@dataclass(frozen=True, slots=True, eq=False)
class _Linear:
    """The linear fit at one frequency, by sums over all samples.

    Args:
        count: of samples.
        normal: D'D, shape (3, 3).
        best: coefficients, shape (3, channels).
        left: sums of squares of what is left, shape (channels,).
        cross: D' slope, shape (3, channels), where slope is the derivative by w.
        slope: sums of squares of the slopes, shape (channels,).
        pull: sums of slope times what is left, shape (channels,).
    """

    count: int
    normal: Floats
    best: Floats
    left: Floats
    cross: Floats
    slope: Floats
    pull: Floats

    @property
    def free(self) -> Floats:
        """What of the slopes the amplitudes cannot take up."""
        taken = self.cross * np.linalg.solve(self.normal, self.cross)
        return np.asarray(self.slope - np.sum(taken, axis=0))

    @property
    def weights(self) -> Floats:
        """One over each channel's variance, with a floor for a record without noise."""
        variance = self.left / self.count
        floor = 1e-24 * np.mean(self.best[0] ** 2 + self.best[1] ** 2) + 1e-300
        return np.asarray(1.0 / np.maximum(variance, floor))


def _linear(record: _Record, w: float) -> _Linear:
    k = len(record.channels)
    normal, pull = np.zeros((3, 3)), np.zeros((3, k))
    for t, y in record.pieces():
        d = _design(t, w)
        normal += d.T @ d
        pull += d.T @ y.T
    best = np.linalg.solve(normal, pull)
    left, slopes, pulls, cross = np.zeros(k), np.zeros(k), np.zeros(k), np.zeros((3, k))
    for t, y in record.pieces():
        d = _design(t, w)
        rest = y - (d @ best).T
        # the derivative of A cos + B sin by w
        slope = (t[:, None] * (d[:, :2] @ np.stack([best[1], -best[0]]))).T
        left += np.sum(rest**2, axis=1)
        slopes += np.sum(slope**2, axis=1)
        pulls += np.sum(slope * rest, axis=1)
        cross += d.T @ slope.T
    return _Linear(len(record), normal, np.asarray(best), left, cross, slopes, pulls)


def _newton(linear: _Linear) -> float:
    """The step in w of the joint least squares, amplitudes projected out."""
    down = float(np.sum(linear.weights * linear.free))
    return float(np.sum(linear.weights * linear.pull)) / down if down > 0.0 else 0.0


def _solved(record: _Record, w: float, known: bool) -> SineFit:
    linear = _linear(record, w)
    n = linear.count
    taken = 3.0 + (0.0 if known else 1.0 / len(record.channels))
    noise = np.sqrt(linear.left / max(n - taken, 1.0))
    phasors = linear.best[0] - 1j * linear.best[1]
    cycles = w * record.span / (2.0 * np.pi) * n / max(n - 1, 1)
    return SineFit(
        w / (2.0 * np.pi),
        np.asarray(phasors),
        linear.best[2],
        noise,
        record.middle,
        _covariance(linear, noise, known),
        cycles,
    )


def _covariance(linear: _Linear, noise: Floats, known: bool) -> Floats:
    """The inverse of the information, by blocks: channels are bound only by the frequency."""
    k = len(noise)
    inverse = np.linalg.inv(linear.normal)
    full = np.zeros((3 * k + 1, 3 * k + 1))
    for one in range(k):
        full[3 * one : 3 * one + 3, 3 * one : 3 * one + 3] = inverse * noise[one] ** 2
    down = 0.0 if known else float(np.sum(linear.weights * linear.free)) * _shrunk(linear, noise)
    if down > 0.0:
        along = np.append(-(inverse @ linear.cross).T.ravel(), 1.0)
        full += np.outer(along, along) / down
    # from (A, B, C, w) to (Re P, Im P, C, f): P = A - jB
    turn = np.ones(3 * k + 1)
    turn[1:-1:3] = -1.0
    turn[-1] = 1.0 / (2.0 * np.pi)
    return np.asarray(full * np.outer(turn, turn))


def _shrunk(linear: _Linear, noise: Floats) -> float:
    """Weights divide by the count of samples, the noise by that less the parameters."""
    variance = float(np.sum(noise**2))
    return float(np.sum(linear.left)) / linear.count / variance if variance > 0.0 else 1.0
