"""What is unknown: an identity, a scale, and what was believed before any reading.

`x` is a value in natural SI units; `t` is the coordinate on the unknown's own scale, in which
priors are stated and fits are made: log t = ln x, linear t = x, logit t = ln(x / (1 - x)).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Id = tuple[str, str]
Scale = Literal["log", "linear", "logit"]
Shape = Literal["normal", "rectangle"]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Prior:
    """What was believed before, on the unknown's scale.

    Args:
        centre: the centre, in t.
        u: standard uncertainty, in t (for a rectangle: half-width over sqrt 3).
        shape: the stated distribution, which the Monte Carlo draws from.
    """

    centre: float
    u: float
    shape: Shape = "normal"


@dataclass(frozen=True, slots=True)
class Unknown:
    """One unknown: `id` is (owner, quantity); `nuisance` marks an influence (an error's cause)
    as against a value of a part or source, whose prior does not count in the consistency."""

    id: Id
    scale: Scale
    prior: Prior
    nuisance: bool = False
