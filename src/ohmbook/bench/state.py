"""The state that predictions are made from: values of all unknowns, and every circuit solved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.jet import Jet
from ohmbook.bench.layout import Group, Index, Layout, View
from ohmbook.circuit import Response, respond, slopes_each

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]


class State:
    """All values at hand, and every network's answer, solved when first asked for.

    Args:
        layout: where things stand.
        x: shape (draws, n), natural units.
        with_slopes: carry derivatives.
        careful: with slopes, look for cancelled digits too.
    """

    def __init__(
        self,
        layout: Layout,
        x: NDArray[np.float64],
        with_slopes: bool,
        careful: bool = True,
    ) -> None:
        self.layout, self.careful = layout, careful
        self.with_slopes = with_slopes
        self.z = np.empty((x.shape[0], layout.count + layout.fixed.size))
        self.z[:, : layout.count], self.z[:, layout.count :] = x, layout.fixed
        self._answers: dict[int, _Drawn] = {}

    def take(self, columns: NDArray[np.intp]) -> Jet:
        """The values that stand in these columns."""
        value = self.z[:, columns]
        if not self.with_slopes:
            return Jet(value)
        return Jet(value, self.layout.unit(columns)[None])

    def transfer(self, group: int, probes: Index, looks: Index) -> Jet:
        """Voltage over EMF, complex, at some looks of one group, each at its own probe."""
        if self.with_slopes:
            return self._sloped(group, probes, looks)
        return self._answer(group).transfer(probes, looks)

    def impedance(self, group: int, looks: Index) -> Jet:
        """Input impedance in ohm, complex, at some looks of one group."""
        if self.with_slopes:
            found = self.layout.groups[group]
            last = np.full(looks.size, len(found.network.probes), dtype=np.intp)
            return self._sloped(group, last, looks)
        return self._answer(group).impedance(looks)

    def _answer(self, number: int) -> _Drawn:
        if number not in self._answers:
            self._answers[number] = self._solved(self.layout.groups[number])
        return self._answers[number]

    def _solved(self, group: Group) -> _Drawn:
        shift = sum((self.z[:, columns] for columns in group.shifts), np.zeros((1, 1)))
        return _drawn(group, self.z[:, group.columns], shift)

    def magnitude(self, group: int, probes: Index, looks: Index) -> Jet:
        """The absolute value of `transfer`; at an exact null its slope is 0."""
        quick = None if self.careful else self._quick(group, probes, looks)
        if quick is not None:
            return quick
        if not self.with_slopes:
            return self.transfer(group, probes, looks).magnitude()
        return self._each(group, probes, looks).magnitude()

    def _quick(self, group: int, probes: Index, looks: Index) -> Jet | None:
        """The absolute value where no digits are looked for; None where that cannot answer."""
        layout = self.layout
        view, sizes = layout.view(group, looks), layout.sizes(group, looks, probes)
        stretch = self._stretch(view) if view.shifts else None
        found = sizes.sizes(self.z[:, view.group.columns], stretch, self.with_slopes)
        if found is None or not self.with_slopes:
            return None if found is None else Jet(found.value)
        slope = np.zeros((layout.count, *found.value.shape))
        for k, (rows, where) in enumerate(layout.spots(group, found.owners)):
            if k:
                slope[where] += found.by_row[rows]
            else:
                slope[where] = found.by_row[rows]
        for _, moved, columns in view.shifts:
            if moved.size and stretch is not None:
                slope[columns, :, moved] += (found.by_log_f / stretch)[:, moved].T
        return Jet(found.value, slope.transpose(1, 2, 0))

    def _stretch(self, view: View) -> Floats:
        """What the frequencies of some looks are multiplied by, shape (draws, r)."""
        stretch = np.ones((self.z.shape[0], view.f_hz.size))
        for columns, _, _ in view.shifts:
            stretch += self.z[:, columns]
        return stretch

    def _sloped(self, group: int, outputs: Index, looks: Index) -> Jet:
        each = self._each(group, outputs, looks)
        return Jet(each.value, each.spread(each.by_unknown, each.by_shift))

    def _each(self, group: int, outputs: Index, looks: Index) -> _Each:
        """One output at each of some looks, in every draw, with its slopes."""
        draws, count = self.z.shape[0], looks.size
        view = self.layout.view(group, looks)
        own = view.group
        here = self.z[:, own.columns]
        stretch = self._stretch(view)
        points = (here.T[:, :, None] * view.present).reshape(len(own.known), draws * count)
        f_hz = (view.f_hz * stretch).ravel()
        values = dict(zip(own.known, points, strict=True))
        at = np.tile(outputs, draws)
        solved = slopes_each(own.network, values, f_hz, at, self.careful)
        value = here[:, own.unknown].T
        # an unknown at exactly 0 has no slope by its logarithm, and its slope by value is not used
        by_value = np.divide(1.0, value, out=np.zeros_like(value), where=value != 0.0)
        scale = np.where(own.by_log[:, None], by_value, 1.0)[:, :, None]
        return _Each(
            view,
            self.layout.count,
            solved.value.reshape(draws, count),
            solved.by_id[own.rows].reshape(-1, draws, count) * scale,
            solved.by_log_f.reshape(draws, count) / stretch,
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Each:
    """One output at each of r looks in every draw: its value (draws, r), its slope by each of the
    u unknown ids (u, draws, r) and by the frequency's relative shift (draws, r)."""

    view: View
    count: int
    value: Complex
    by_unknown: Complex
    by_shift: Complex

    def magnitude(self) -> Jet:
        """The absolute value, its slopes real before they are spread."""
        size = np.abs(self.value)
        unit = np.divide(self.value, size, out=np.zeros_like(self.value), where=size > 0)
        real, imag = unit.real, unit.imag
        by_unknown = self.by_unknown.real * real + self.by_unknown.imag * imag
        by_shift = self.by_shift.real * real + self.by_shift.imag * imag
        return Jet(size, self.spread(by_unknown, by_shift))

    def spread(self, by_unknown: NDArray[Any], by_shift: NDArray[Any]) -> NDArray[Any]:
        """Slopes by every unknown of the layout, shape (draws, r, n)."""
        slope = np.zeros((self.count, *self.value.shape), dtype=by_unknown.dtype)
        # two ids may be one unknown: a plain += would keep only one of them
        for turn, where in self.view.group.turns:
            slope[where] += by_unknown[turn]
        for _, moved, columns in self.view.shifts:
            if moved.size:
                slope[columns, :, moved] += by_shift[:, moved].T
        return slope.transpose(1, 2, 0)


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
