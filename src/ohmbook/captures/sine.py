"""The three- and four-parameter sine fit of IEEE Std 1057, several channels with one frequency.

y_k = A_k cos(w t) + B_k sin(w t) + C_k, by least squares; w known (three parameters a channel) or
shared and fitted too. Time counts from the middle of the record, where frequency and phase are
least entangled. Source: IEEE Std 1057-2017, annex A (three- and four-parameter fits, from
memory); the covariance is s^2 (D'D)^-1 of the linearised fit, channels weighted by their noise.
"""

from __future__ import annotations

from collections.abc import Sequence
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
    y = np.array([np.asarray(one, dtype=float) for one in channels])
    if y.shape[1] < _LEAST_ROWS:
        raise CaptureError(
            NAME, f"{y.shape[1]} samples are too few for a sine", "capture more of it"
        )
    middle = float(t_s[0] + t_s[-1]) / 2.0
    t = t_s - middle
    if f_hz is not None:
        return _solved(t, y, 2.0 * np.pi * f_hz, middle, known=True)
    return _solved(t, y, _searched(t, y), middle, known=False)


def _searched(t: Floats, y: Floats) -> float:
    """The angular frequency of least squares over all channels."""
    if not np.any(np.ptp(y, axis=1) > 0.0):
        raise CaptureError(NAME, "all channels are flat, no sine is there", "check the clips")
    w = _start(t, y)
    step = 2.0 * np.pi / float(np.ptp(t))
    for _ in range(_MOST_TURNS):
        shift = _newton(t, y, w)
        shift = float(np.clip(shift, -0.5 * step, 0.5 * step))
        w += shift
        if abs(shift) <= 1e-13 * abs(w) + 1e-9 * step:
            return abs(w)
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
    """The linear fit at one frequency: normal matrix, coefficients (3, k), residuals, slopes."""

    normal: Floats
    best: Floats
    residual: Floats
    slope: Floats
    cross: Floats


def _linear(t: Floats, y: Floats, w: float) -> _Linear:
    d = _design(t, w)
    normal = d.T @ d
    best = np.linalg.solve(normal, d.T @ y.T)
    # the derivative of A cos + B sin by w
    slope = (t[:, None] * (d[:, :2] @ np.stack([best[1], -best[0]]))).T
    left = np.asarray(y - (d @ best).T)
    return _Linear(normal, np.asarray(best), left, slope, np.asarray(d.T @ slope.T))


def _weights(linear: _Linear) -> Floats:
    left = np.mean(linear.residual**2, axis=1)
    floor = 1e-24 * np.mean(linear.best[0] ** 2 + linear.best[1] ** 2) + 1e-300
    return np.asarray(1.0 / np.maximum(left, floor))


def _newton(t: Floats, y: Floats, w: float) -> float:
    """The step in w of the joint least squares, amplitudes projected out."""
    linear = _linear(t, y, w)
    weights = _weights(linear)
    project = np.linalg.solve(linear.normal, linear.cross)
    free = np.sum(linear.slope**2, axis=1) - np.sum(linear.cross * project, axis=0)
    pull = np.sum(linear.slope * linear.residual, axis=1)
    down = float(np.sum(weights * free))
    return float(np.sum(weights * pull)) / down if down > 0.0 else 0.0


def _solved(t: Floats, y: Floats, w: float, middle: float, known: bool) -> SineFit:
    linear = _linear(t, y, w)
    k, n = y.shape
    taken = 3.0 + (0.0 if known else 1.0 / k)
    noise = np.sqrt(np.sum(linear.residual**2, axis=1) / max(n - taken, 1.0))
    phasors = linear.best[0] - 1j * linear.best[1]
    covariance = _covariance(linear, noise, known)
    cycles = w * float(np.ptp(t)) / (2.0 * np.pi) * n / max(n - 1, 1)
    return SineFit(w / (2.0 * np.pi), phasors, linear.best[2], noise, middle, covariance, cycles)


def _covariance(linear: _Linear, noise: Floats, known: bool) -> Floats:
    """The inverse of the information, by blocks: channels are bound only by the frequency."""
    k = len(noise)
    inverse = np.linalg.inv(linear.normal)
    full = np.zeros((3 * k + 1, 3 * k + 1))
    for one in range(k):
        full[3 * one : 3 * one + 3, 3 * one : 3 * one + 3] = inverse * noise[one] ** 2
    if not known:
        project = inverse @ linear.cross
        free = np.sum(linear.slope**2, axis=1) - np.sum(linear.cross * project, axis=0)
        weights = _weights(linear) if np.any(noise == 0.0) else 1.0 / noise**2
        down = float(np.sum(weights * free))
        along = np.append(-project.T.ravel(), 1.0)
        full += np.outer(along, along) / down if down > 0.0 else 0.0
    # from (A, B, C, w) to (Re P, Im P, C, f): P = A - jB
    turn = np.ones(3 * k + 1)
    turn[1:-1:3] = -1.0
    turn[-1] = 1.0 / (2.0 * np.pi)
    return np.asarray(full * np.outer(turn, turn))
