"""A simulated 8-bit screen with automatic ranges: what it shows of an amplitude."""

from __future__ import annotations

from math import ceil, floor, log10

import numpy as np

STEP_DIV = 0.04
DIVISIONS = 8.0


class Screen:
    """A screen with its errors, drawn once per bench.

    Args:
        rng: the source of chance.
        shared_gain: limits of the gain that all readings share.
        range_gain: limits of what each range adds.
        excess_codes: how many codes too high a peak-to-peak reading is.
        excess_v: how many volts too high, besides.
    """

    def __init__(
        self,
        rng: np.random.Generator,
        shared_gain: float = 0.03,
        range_gain: float = 0.005,
        excess_codes: float = 0.0,
        excess_v: float = 0.0,
    ) -> None:
        self.rng, self.limit = rng, range_gain
        self.gain = rng.uniform(-shared_gain, shared_gain)
        self.range_gain: dict[float, float] = {}
        self.excess_codes, self.excess_v = excess_codes, excess_v

    def gain_of(self, range_v: float) -> float:
        """What a range adds to the gain; drawn when the range is first used."""
        if range_v not in self.range_gain:
            self.range_gain[range_v] = self.rng.uniform(-self.limit, self.limit)
        return self.range_gain[range_v]

    def before_rounding(self, vpp: float, range_v: float) -> float:
        """Volts peak to peak on a range, before the read-out rounds them."""
        gain = (1 + self.gain) * (1 + self.gain_of(range_v))
        return vpp * gain + self.excess_codes * STEP_DIV * range_v + self.excess_v

    def read(self, vpp: float) -> float:
        """Volts peak to peak as displayed, on the finest range that holds the trace."""
        shown, range_v = vpp, 0.0
        for _ in range(4):
            range_v = finest_range(shown)
            step = STEP_DIV * range_v
            shown = round(self.before_rounding(vpp, range_v) / step) * step
            if finest_range(shown) == range_v:
                break
        return max(shown, 0.0)


def finest_range(vpp: float) -> float:
    """The finest 1-2-5 range with the trace inside 8 divisions, not below 2 mV/div."""
    least = max(vpp / DIVISIONS, 0.002)
    decade = 10.0 ** floor(log10(least) + 1e-9)
    return next(
        round(s * decade, 3 - ceil(log10(decade)))
        for s in (1, 2, 5, 10)
        if s * decade >= least * (1 - 1e-9)
    )
