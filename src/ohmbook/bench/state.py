"""The state that predictions are made from: values of all unknowns, and every circuit solved."""

from __future__ import annotations

from functools import reduce

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.jet import Jet
from ohmbook.bench.layout import ZERO, Group, Layout
from ohmbook.circuit import Slopes, respond, slopes

Complex = NDArray[np.complex128]


class State:
    """All values at hand, and every network's answer, solved when first asked for.

    Args:
        layout: where things stand.
        x: shape (draws, n), natural units.
        with_slopes: carry derivatives; then draws must be 1.
    """

    def __init__(self, layout: Layout, x: NDArray[np.float64], with_slopes: bool) -> None:
        self.layout = layout
        self.with_slopes = with_slopes
        fixed = np.broadcast_to(layout.fixed, (x.shape[0], layout.fixed.size))
        self.z = np.concatenate([x, fixed], axis=1)
        self._answers: dict[int, _Answer] = {}

    def take(self, columns: NDArray[np.intp]) -> Jet:
        """The values that stand in these columns."""
        value = self.z[:, columns]
        if not self.with_slopes:
            return Jet(value)
        return Jet(value, self.layout.unit(columns))

    def transfer(self, group: int, probe: int) -> Jet:
        """Voltage at a probe over EMF, complex, at all looks of one group."""
        return self._answer(group).transfer(probe)

    def impedance(self, group: int) -> Jet:
        """Input impedance in ohm, complex, at all looks of one group."""
        return self._answer(group).impedance()

    def _answer(self, number: int) -> _Answer:
        if number not in self._answers:
            self._answers[number] = self._solved(self.layout.groups[number])
        return self._answers[number]

    def _solved(self, group: Group) -> _Answer:
        nothing = self.take(self.layout.columns([ZERO]))
        shift = reduce(lambda a, b: a + b, map(self.take, group.shifts), nothing)
        here = self.z[:, group.columns]
        if not self.with_slopes:
            return _drawn(group, here, shift.value)
        stretch = 1.0 + shift.value[0]
        mask = group.patterns[group.pattern].T
        values = {
            one: float(here[0, k]) if mask[k].all() else here[0, k] * mask[k]
            for k, one in enumerate(group.known)
        }
        solved = slopes(group.network, values, group.f_hz * stretch)
        assert shift.slope is not None
        return _Sloped(solved, group, here[0], shift.slope / stretch[:, None])


def _drawn(group: Group, here: NDArray[np.float64], shift: NDArray[np.float64]) -> _Drawn:
    """One network for many draws, all its patterns of absence side by side."""
    draws, patterns = here.shape[0], group.patterns.shape[0]
    values = {
        one: np.outer(group.patterns[:, k], here[:, k]).ravel() for k, one in enumerate(group.known)
    }
    f_hz = np.broadcast_to(group.f_hz * (1.0 + shift), (draws, group.f_hz.size))
    wanted = f_hz[:, group.chosen]
    answer = respond(group.network, values, np.tile(wanted, (patterns, 1)))

    def picked(values: Complex) -> Complex:
        shape = (patterns, draws, wanted.shape[1])
        table = np.broadcast_to(values, (patterns * draws, wanted.shape[1])).reshape(shape)
        return table[group.pattern, :, group.frequency].T

    return _Drawn(
        [Jet(picked(one)) for one in answer.transfer], Jet(picked(answer.input_impedance))
    )


class _Drawn:
    """One network for many draws."""

    def __init__(self, probes: list[Jet], entry: Jet) -> None:
        self.probes, self.entry = probes, entry

    def transfer(self, probe: int) -> Jet:
        return self.probes[probe]

    def impedance(self) -> Jet:
        return self.entry


class _Sloped:
    """One network for one set of values, with slopes by every unknown."""

    def __init__(
        self, solved: Slopes, group: Group, here: NDArray[np.float64], shift: NDArray[np.float64]
    ) -> None:
        self.solved, self.group, self.shift = solved, group, shift
        value = here[group.unknown]
        # an unknown at exactly 0 has no slope by its logarithm, and its slope by value is not used
        by_value = np.divide(1.0, value, out=np.zeros_like(value), where=value != 0.0)
        self.scale = np.where(group.by_log, by_value, 1.0)

    def transfer(self, probe: int) -> Jet:
        solved = self.solved
        return self._jet(
            solved.response.transfer[probe, 0],
            solved.transfer[probe],
            solved.transfer_log_f[probe],
        )

    def impedance(self) -> Jet:
        solved = self.solved
        return self._jet(
            solved.response.input_impedance[0],
            solved.input_impedance,
            solved.input_impedance_log_f,
        )

    def _jet(self, value: Complex, by_id: Complex, by_log_f: Complex) -> Jet:
        slope = by_log_f[:, None] * self.shift
        group = self.group
        by_unknown = (by_id[group.rows] * self.scale[:, None]).T
        # two ids may be one unknown: a plain += would keep only one of them
        for turn, where in group.turns:
            slope[:, where] += by_unknown[:, turn]
        return Jet(value[None, :], slope)


_Answer = _Drawn | _Sloped
