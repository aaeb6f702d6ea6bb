"""How each feature of a behaviour moves with each value: exact slopes at the best values.

From the circuit's own slopes, without draws. Where a feature is where two curves meet, it moves so
that they still meet (implicit function); where it is an extreme, its height moves as the curve does
at that place (envelope theorem). Both are textbook calculus, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import log
from typing import Literal

import numpy as np

from ohmbook import circuit
from ohmbook.circuit.network import Id, Network
from ohmbook.crossover.behaviour import Behaviour
from ohmbook.crossover.curves import Floats, lowest
from ohmbook.crossover.features import DEPTHS
from ohmbook.units.show import show_plain

_DB = 20.0 / log(10.0)
_STEEP = 1e-6
"""Below this slope (dB a neper of frequency) two curves only touch: no place to lean on."""


@dataclass(frozen=True, slots=True)
class Leaning:
    """A feature and its slopes.

    Args:
        feature: in words.
        value: Hz, ohm or dB.
        unit: of the value.
        slopes: by ln p for each (owner, quantity) p (by itself for a loss): of ln value for Hz
            and ohm, of the decibels for dB.
    """

    feature: str
    value: float
    unit: Literal["Hz", "ohm", "dB"]
    slopes: dict[Id, float]


def leanings(
    network: Network, values: Mapping[Id, float], shown: Behaviour, at_hz: Sequence[float] = ()
) -> tuple[Leaning, ...]:
    """The slopes of every feature of a behaviour: crossings, lowest impedance, corners, levels.

    Args:
        network: as for `behave`.
        values: the best values, SI.
        shown: what `behave` gave for them.
        at_hz: frequencies at which every output's level is wanted as well, Hz.

    Returns:
        One for each feature that moves smoothly; one in a null or at a mere touch is left out.
    """
    at = _Slopes(network, values, [one.name for one in shown.outputs])
    found = [
        *_crossings(shown, at),
        *_minimum(shown, at),
        *_corners(shown, at),
        *_levels(shown, at, at_hz),
    ]
    return tuple(one for one in found if np.isfinite(list(one.slopes.values())).all())


class _Slopes:
    """Slopes of decibels and of ln|Z| at any frequency, by ln p and by ln f."""

    def __init__(self, network: Network, values: Mapping[Id, float], names: list[str]) -> None:
        self._solve: Callable[[float], circuit.Slopes] = lambda f: circuit.slopes(
            network, dict(values), [f]
        )
        self._names = names
        self._kept: dict[float, circuit.Slopes] = {}
        self.ids = network.ids

    def db(self, name: str, f_hz: float) -> tuple[float, Floats, float]:
        """An output's level, its slopes by each value, and by ln f."""
        solved, k = self._at(f_hz), self._names.index(name)
        h = solved.response.transfer[k, 0, 0]
        with np.errstate(all="ignore"):
            level = float(_DB * np.log(abs(h)))
            return (
                level,
                _DB * np.real(solved.transfer[k, :, 0] / h),
                float(_DB * np.real(solved.transfer_log_f[k, 0] / h)),
            )

    def log_ohm(self, f_hz: float) -> Floats:
        """Slopes of the input impedance's ln|Z|."""
        solved = self._at(f_hz)
        with np.errstate(all="ignore"):
            ratio = solved.input_impedance[:, 0] / solved.response.input_impedance[0, 0]
        return np.asarray(np.real(ratio))

    def by_id(self, slopes: Floats) -> dict[Id, float]:
        """As a table."""
        return {one: float(slope) for one, slope in zip(self.ids, slopes, strict=True)}

    def _at(self, f_hz: float) -> circuit.Slopes:
        if f_hz not in self._kept:
            self._kept[f_hz] = self._solve(f_hz)
        return self._kept[f_hz]


def _crossings(shown: Behaviour, at: _Slopes) -> Iterator[Leaning]:
    for one in shown.crossings:
        a, b = one.between
        f_hz = one.frequency_hz.value
        _, of_a, along_a = at.db(a, f_hz)
        _, of_b, along_b = at.db(b, f_hz)
        if abs(along_a - along_b) > _STEEP:
            slopes = -(of_a - of_b) / (along_a - along_b)
            yield Leaning(f"{a} and {b} cross", f_hz, "Hz", at.by_id(slopes))


def _minimum(shown: Behaviour, at: _Slopes) -> Iterator[Leaning]:
    one = shown.minimum_impedance
    yield Leaning("lowest impedance", one.ohm.value, "ohm", at.by_id(at.log_ohm(one.frequency_hz)))


def _corners(shown: Behaviour, at: _Slopes) -> Iterator[Leaning]:
    for name, traits in shown.traits.items():
        for corner in traits.corners:
            f_hz = corner.frequency_hz.value
            _, here, along = at.db(name, f_hz)
            _, top, _ = at.db(name, _top_hz(shown, name))
            if abs(along) > _STEEP:
                words = f"{name} {DEPTHS[corner.depth]:.0f} dB down, {corner.side}"
                yield Leaning(words, f_hz, "Hz", at.by_id(-(here - top) / along))


def _levels(shown: Behaviour, at: _Slopes, at_hz: Sequence[float]) -> Iterator[Leaning]:
    for name, traits in shown.traits.items():
        if traits.level_db is not None:
            _, top, _ = at.db(name, _top_hz(shown, name))
            yield Leaning(f"{name}'s highest level", traits.level_db.value, "dB", at.by_id(top))
        for f_hz in at_hz:
            level, slopes, _ = at.db(name, f_hz)
            yield Leaning(
                f"{name}'s level at {show_plain(f_hz, 'Hz')}", level, "dB", at.by_id(slopes)
            )


def _top_hz(shown: Behaviour, name: str) -> float:
    curve = next(one for one in shown.outputs if one.name == name)
    x = np.log(shown.frequency_hz)
    return float(np.exp(lowest(x, -curve.gain_db[np.newaxis])[1][0]))
