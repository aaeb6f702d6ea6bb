"""GTC as an independent road: first-order propagation by automatic differentiation."""

from __future__ import annotations

from math import log, pi

import GTC
import numpy as np
import pytest

from ohmbook.evidence import Array, Prior, Unknown, budget, settle

from .toys import Formula

RATIO, U_RATIO = 0.5, 0.004
SOURCE_OHM, U_SOURCE = 50.0, 1.1
SERIES_OHM, U_SERIES = 2.0, 0.15
FREQUENCY_HZ, U_FREQUENCY = 5600.0, 3.0
COIL = ("L1", "inductance")


def _by_gtc() -> tuple[float, float, list[float]]:
    """X^2 = (x^2 (R + r)^2 - r^2)/(1 - x^2); at x = 1/2, ((R + r)^2 - 4 r^2)/3."""
    x = GTC.ureal(RATIO, U_RATIO)
    source, series = GTC.ureal(SOURCE_OHM, U_SOURCE), GTC.ureal(SERIES_OHM, U_SERIES)
    frequency = GTC.ureal(FREQUENCY_HZ, U_FREQUENCY)
    reactance = GTC.sqrt((x**2 * (source + series) ** 2 - series**2) / (1 - x**2))
    inductance = reactance / (2 * pi * frequency)
    parts = [GTC.component(inductance, cause) for cause in (x, source, series, frequency)]
    return inductance.x, inductance.u, parts


def test_half_amplitude_of_a_coil_with_resistance() -> None:
    """The reading as an equation about four unknowns, not solved for L by anybody."""

    def normal(id_: tuple[str, str], centre: float, u: float) -> Unknown:
        return Unknown(id_, "linear", Prior(centre, u), nuisance=True)

    unknowns = [
        Unknown(COIL, "log", Prior(log(1e-3), 100.0)),
        normal(("generator", "resistance"), SOURCE_OHM, U_SOURCE),
        normal(("L1", "resistance"), SERIES_OHM, U_SERIES),
        normal(("generator", "frequency"), FREQUENCY_HZ, U_FREQUENCY),
    ]

    def ratio(x: Array) -> Array:
        l, source, series, frequency = np.moveaxis(x, -1, 0)
        across = np.hypot(series, 2.0 * pi * frequency * l)
        whole = np.hypot(series + source, 2.0 * pi * frequency * l)
        return np.asarray((across / whole)[..., np.newaxis])

    posterior = settle(unknowns, [Formula.of(unknowns, ratio, [RATIO], [U_RATIO])])
    inductance, u, parts = _by_gtc()
    assert posterior.value(COIL) == pytest.approx(inductance, rel=1e-6)
    assert posterior.u(COIL) * posterior.value(COIL) == pytest.approx(u, rel=1e-6)
    shares = {share.label: share.contribution for share in budget(posterior, COIL)}
    found = [
        shares[label] * inductance
        for label in ("r0", "generator resistance", "L1 resistance", "generator frequency")
    ]
    assert np.abs(found) == pytest.approx(np.abs(parts), rel=1e-5)
    reactance = 2.0 * pi * FREQUENCY_HZ * posterior.value(COIL)
    assert reactance == pytest.approx(29.933259094, rel=1e-6)  # closed form at R 50, r 2
