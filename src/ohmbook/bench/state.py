"""The state that predictions are made from: values of all unknowns, and every circuit solved."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.jet import Jet
from ohmbook.bench.layout import Group, Index, Layout
from ohmbook.circuit import Response, Slopes, respond, slopes

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]


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

    def transfer(self, group: int, probes: Index, looks: Index) -> Jet:
        """Voltage over EMF, complex, at some looks of one group, each at its own probe."""
        return self._answer(group).transfer(probes, looks)

    def impedance(self, group: int, looks: Index) -> Jet:
        """Input impedance in ohm, complex, at some looks of one group."""
        return self._answer(group).impedance(looks)

    def _answer(self, number: int) -> _Answer:
        if number not in self._answers:
            self._answers[number] = self._solved(self.layout.groups[number])
        return self._answers[number]

    def _solved(self, group: Group) -> _Answer:
        shift = sum((self.z[:, columns] for columns in group.shifts), np.zeros((1, 1)))
        here = self.z[:, group.columns]
        if not self.with_slopes:
            return _drawn(group, here, shift)
        stretch = np.broadcast_to(1.0 + shift[0], group.f_hz.shape)
        mask = group.patterns[group.pattern].T
        values = {
            one: float(here[0, k]) if mask[k].all() else here[0, k] * mask[k]
            for k, one in enumerate(group.known)
        }
        solved = slopes(group.network, values, group.f_hz * stretch)
        return _Sloped(solved, group, here[0], stretch, self.layout.count)


def _drawn(group: Group, here: Floats, shift: Floats) -> _Drawn:
    """One network for many draws, all its patterns of absence side by side."""
    draws, patterns = here.shape[0], group.patterns.shape[0]
    values = {
        one: np.outer(group.patterns[:, k], here[:, k]).ravel() for k, one in enumerate(group.known)
    }
    f_hz = np.broadcast_to(group.f_hz * (1.0 + shift), (draws, group.f_hz.size))
    wanted = f_hz[:, group.chosen]
    answer = respond(group.network, values, np.tile(wanted, (patterns, 1)))
    return _Drawn(answer, group, (patterns, draws, wanted.shape[1]))


class _Drawn:
    """One network for many draws, its patterns side by side: shape (patterns, draws, c)."""

    def __init__(self, answer: Response, group: Group, shape: tuple[int, int, int]) -> None:
        self.answer, self.group, self.shape = answer, group, shape

    def transfer(self, probes: Index, looks: Index) -> Jet:
        table = self.answer.transfer.reshape(-1, *self.shape)
        where = (probes, self.group.pattern[looks], slice(None), self.group.frequency[looks])
        return Jet(table[where].T)

    def impedance(self, looks: Index) -> Jet:
        table = self.answer.input_impedance.reshape(self.shape)
        return Jet(table[self.group.pattern[looks], :, self.group.frequency[looks]].T)


class _Sloped:
    """One network for one set of values, with slopes by every unknown."""

    def __init__(
        self, solved: Slopes, group: Group, here: Floats, stretch: Floats, count: int
    ) -> None:
        self.solved, self.group, self.stretch, self.count = solved, group, stretch, count
        value = here[group.unknown]
        # an unknown at exactly 0 has no slope by its logarithm, and its slope by value is not used
        by_value = np.divide(1.0, value, out=np.zeros_like(value), where=value != 0.0)
        self.scale = np.where(group.by_log, by_value, 1.0)

    def transfer(self, probes: Index, looks: Index) -> Jet:
        solved = self.solved
        return self._jet(
            solved.response.transfer[probes, 0, looks],
            solved.transfer[probes, :, looks],
            solved.transfer_log_f[probes, looks],
            looks,
        )

    def impedance(self, looks: Index) -> Jet:
        solved = self.solved
        return self._jet(
            solved.response.input_impedance[0, looks],
            solved.input_impedance[:, looks].T,
            solved.input_impedance_log_f[looks],
            looks,
        )

    def _jet(self, value: Complex, by_id: Complex, by_log_f: Complex, looks: Index) -> Jet:
        """Slopes by unknown, shape (m, n), from slopes by id, shape (m, ids), and by ln f."""
        group = self.group
        slope = np.zeros((looks.size, self.count), dtype=complex)
        by_unknown = by_id[:, group.rows] * self.scale
        # two ids may be one unknown: a plain += would keep only one of them
        for turn, where in group.turns:
            slope[:, where] += by_unknown[:, turn]
        each, by_shift = np.arange(looks.size), by_log_f / self.stretch[looks]
        for columns in group.shifts:
            moved = columns[looks] < self.count
            slope[each[moved], columns[looks][moved]] += by_shift[moved]
        return Jet(value[None, :], slope)


_Answer = _Drawn | _Sloped
