"""How near the sine fit comes to the Cramér-Rao bound, and whether a time skew is recovered.

Each record draws its own cycles (2.3 to 500, evenly on a log scale), amplitude and phase; errors
are counted in units of the record's own bound, from Fisher's information of all four parameters
written out here (S. M. Kay, Fundamentals of Statistical Signal Processing, 1993, ch. 3). 8-bit
records carry half a step of noise besides, and their bound counts the step's q^2/12.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from time import process_time

import numpy as np
from numpy.typing import NDArray

from ohmbook.captures import sine

ROWS = 1000
WANTED = 1.03
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Spread:
    """Root mean squares of errors in units of the bound, and of errors over the claimed u."""

    what: str
    against_bound: Floats
    against_claim: Floats


def bound(t: Floats, amplitude: float, phase: float, w: float, sigma: float) -> Floats:
    """Smallest standard deviations of (amplitude, phase at t = 0, w), the offset unknown too."""
    turn = w * t + phase
    by = np.stack(
        [np.cos(turn), -amplitude * np.sin(turn), -amplitude * t * np.sin(turn), np.ones_like(t)]
    )
    return np.asarray(np.sqrt(np.diag(np.linalg.inv(by @ by.T))[:3]) * sigma)


def one_record(rng: np.random.Generator, bits: int) -> tuple[Floats, Floats]:
    """Errors of one record over the bound, and over the standard uncertainty that was claimed."""
    cycles = 2.3 * (500 / 2.3) ** rng.uniform()
    rows = ROWS if cycles < ROWS / 4 else int(4.3 * cycles)
    t = (np.arange(rows) - (rows - 1) / 2) / rows
    amplitude, phase = rng.uniform(0.5, 0.95), rng.uniform(-np.pi, np.pi)
    w = 2 * np.pi * cycles
    step = 2.0 / 2**bits if bits else 0.0
    sigma = 0.5 * step if bits else 10 ** rng.uniform(-4, -1.3)
    y = 0.02 + amplitude * np.cos(w * t + phase) + rng.normal(0, sigma, rows)
    if bits:
        y = np.round(y / step) * step
    found = sine.fit(t + 7.0, [y])
    turn = np.angle(found.phasors[0] * np.exp(-1j * phase))
    errors = np.array([abs(found.phasors[0]) - amplitude, turn, 2 * np.pi * found.f_hz - w])
    claimed = np.array([*found.u_polar(0), 2 * np.pi * found.u_f_hz])
    least = bound(t, amplitude, phase, w, float(np.hypot(sigma, step / np.sqrt(12))))
    return errors / least, errors / claimed


def spread(records: int, bits: int, seed: int) -> Spread:
    """The errors of many records, in units of the bound."""
    rng = np.random.default_rng(seed)
    both = np.array([one_record(rng, bits) for _ in range(records)])
    rms = np.sqrt(np.mean(both**2, axis=0))
    return Spread(f"{bits}-bit" if bits else "white noise", rms[0], rms[1])


def skew(records: int, seed: int, true_s: float = 180e-9) -> tuple[float, float]:
    """A time skew between two channels on one node, from its sines: mean error over its
    standard deviation of the mean, and the spread over the claimed uncertainty."""
    from ohmbook.captures.phasors import time_skew

    rng = np.random.default_rng(seed)
    errors, claimed = [], []
    for _ in range(records):
        fits = []
        for f_hz in (500.0, 2e3, 8e3):
            t = np.arange(2000) / 250e3
            first = np.cos(2 * np.pi * f_hz * t) + rng.normal(0, 0.01, 2000)
            second = 0.97 * np.cos(2 * np.pi * f_hz * (t - true_s)) + rng.normal(0, 0.01, 2000)
            fits.append(sine.fit(t, [first, second]))
        found, u = time_skew(fits, over=1, under=0)
        errors.append(found - true_s)
        claimed.append(u)
    drift = float(np.mean(errors) / (np.std(errors) / np.sqrt(records)))
    return drift, float(np.std(errors) / np.mean(claimed))


def main() -> None:
    """Print wanted beside measured."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--records", type=int, default=2000)
    given.add_argument("--seed", type=int, default=1)
    asked = given.parse_args()
    begun = process_time()
    print(f"{asked.records} records, errors in units of the Cramér-Rao bound, wanted <= {WANTED}")
    for bits in (0, 8):
        found = spread(asked.records, bits, asked.seed)
        names = ("amplitude", "phase", "frequency")
        for name, over, claim in zip(names, found.against_bound, found.against_claim, strict=True):
            print(f"  {found.what:12} {name:10} {over:.4f}   over the claimed u: {claim:.4f}")
    drift, ratio = skew(200, asked.seed)
    print(f"  skew: mean error {drift:+.2f} sd of the mean, spread over the claimed u {ratio:.3f}")
    print(f"  {process_time() - begun:.1f} s")


if __name__ == "__main__":
    main()
