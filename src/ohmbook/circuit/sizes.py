"""How large a network's answers are, and how that moves, for many cases side by side.

What a search asks for thousands of times: one output at each of some frequencies, in every draw,
its absolute value alone. The plan, the leaves and the chain rule are those of `sensitivity`, but
everything that stays the same from call to call is laid out once, the sweep starts from the
answer's own direction so that every slope is real from there on, and draws are worked on in blocks
that stay in the cache. Digits lost by cancellation are not looked for: where a search ends, the
careful road is taken. Cases that only that one can answer are given back unanswered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.adjoint import Step, run_steps, steps_of
from ohmbook.circuit.element import Bank
from ohmbook.circuit.network import Id, Network
from ohmbook.circuit.plan import Plan
from ohmbook.circuit.road import roads
from ohmbook.circuit.run import OPERATORS, Complexes, Operator
from ohmbook.circuit.topology import Compiled, compiled
from ohmbook.circuit.values import OMEGA_REFERENCE, Reals, inventory

Index = NDArray[np.intp]

BLOCK = 640
"""Points worked on at a time: all their slots and slopes stay in the processor's second cache."""


@dataclass(frozen=True, slots=True, eq=False)
class Sized:
    """Absolute values, shape (draws, r), and how they move.

    Args:
        value: the absolute values.
        by_row: their slopes by the values that `owners` says, shape (rows, draws, r); empty where
            none were asked for.
        owners: for each row of slopes the number of the value among the known ones, -1 for none.
        by_log_f: by ln f, shape (draws, r).
    """

    value: Reals
    by_row: Reals
    owners: Index
    by_log_f: Reals


class Sizes:
    """One output at each of r looks at a network, ready for any values.

    Args:
        network: what is looked at.
        known: the ids that values are handed in for, k of them, all of the network.
        present: 1 where a value is present at a look and 0 where it is absent, shape (k, r).
        f_hz: the looks' frequencies, hertz, shape (r,).
        outputs: which output at each look, the input impedance last, shape (r,).
    """

    def __init__(
        self,
        network: Network,
        known: Sequence[Id],
        present: Reals,
        f_hz: Reals,
        outputs: Index,
    ) -> None:
        self.needs, self.outputs = inventory(network), outputs
        self.omega = 2.0 * pi * f_hz
        self.rows = np.array([self.needs.ids.index(one) for one in known], dtype=np.intp)
        self.present = np.ones((len(self.needs.ids) + 1, f_hz.size))
        self.present[self.rows] = present
        self.least = np.where(self.needs.signed, -np.inf, 0.0)[self.rows]
        self.most = np.minimum(self.needs.largest, np.finfo(float).max)[self.rows]
        special = self.needs.given or self.needs.mutuals or self.needs.cores or self.needs.semis
        self.plain = not special and bool(f_hz.all()) and bool(f_hz.size)
        self._forms: dict[bytes, _Form | None] = {}

    def sizes(self, values: Reals, stretch: Reals, with_slopes: bool) -> Sized | None:
        """The absolute values at given values of the known ids.

        Args:
            values: SI, shape (draws, k).
            stretch: what each frequency is multiplied by, shape (draws, r).
            with_slopes: whether slopes are wanted.

        Returns:
            None where the careful road has to be taken.
        """
        if not self.plain or not ((values >= self.least) & (values <= self.most)).all():
            return None
        form = self._form(values)
        if form is None:
            return None
        table = np.zeros((len(self.present), len(values)))
        table[self.rows] = values.T
        omega, draws = self.omega * stretch, len(values)
        shape = (form.owners.size, *omega.shape) if with_slopes else (0, 0, 0)
        found = Sized(np.empty(omega.shape), np.empty(shape), form.owners, np.empty(omega.shape))
        step = max(1, BLOCK // self.omega.size)
        with np.errstate(all="ignore"):
            for k in range(0, draws, step):
                part = slice(k, k + step)
                form.work(table[:, part], omega[part], found, part)
        sound = np.isfinite(found.value).all() and np.isfinite(found.by_row).all()
        return found if sound else None

    def _form(self, values: Reals) -> _Form | None:
        """The form of the topology that is left when what is zero throughout is taken out."""
        key = b"" if values.all() else values.any(axis=0).tobytes()
        if key not in self._forms:
            given = np.zeros(len(self.present), dtype=bool)
            given[self.rows] = values.any(axis=0)
            given &= self.present.any(axis=1)
            ready = compiled(self.needs, (~given[:-1]).tobytes(), False)
            self._forms[key] = _form(ready, self.present, self.outputs, self.rows)
        return self._forms[key]


def _form(ready: Compiled, present: Reals, outputs: Index, rows: Index) -> _Form | None:
    topology = ready.topology
    if not topology.source or topology.behind < 0:
        return None
    ways = roads(ready)
    if len(ways) > 1:
        return None
    places = dict(zip(ways[0].numbers, ways[0].within, strict=True))
    if any(number not in places for number in set(outputs.tolist())):
        return None
    within = np.array([places[number] for number in outputs.tolist()], dtype=np.intp)
    return _Form.of(ready.bank, ways[0].plan, within, present, rows)


def _prepared(plan: Plan) -> tuple[tuple[Operator, int, int, int], ...]:
    """A plan's operations, each with the slot of its result."""
    found: list[tuple[Operator, int, int, int]] = []
    for k, (code, left, right) in enumerate(plan.operations):
        found.append((OPERATORS[code], left, right, plan.leaves + 1 + k))
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class _Form:
    """One topology at the looks: where everything comes from and goes to.

    Args:
        bank: how to work out the leaves from a table of values.
        plan: what is run.
        operations: its operations with the slot of each result.
        sources: the row of the table behind each row of slopes: of main values, losses, series
            resistances of coils and of capacitors, resistances.
        present: 1 where the value of such a row is present, shape (rows, 1, r); None where all are.
        top: the slot of each look's numerator.
        bottom: of its denominator.
        steps: the sweep.
        blank: the slots that a sweep has to begin at zero.
        owners: as in `Sized`.
    """

    bank: Bank
    plan: Plan
    operations: tuple[tuple[Operator, int, int, int], ...]
    sources: Index
    present: Reals | None
    top: Index
    bottom: Index
    steps: tuple[Step, ...]
    blank: Index
    owners: Index

    @classmethod
    def of(cls, bank: Bank, plan: Plan, within: Index, present: Reals, rows: Index) -> _Form:
        """Of looks at the outputs `within` the plan."""
        outputs = [plan.outputs[number] for number in within.tolist()]
        ends = [(one.n, one.d) for one in outputs if one is not None]
        steps, blank = steps_of(plan, tuple(sorted(set(within.tolist()))))
        sources = np.concatenate(
            [bank.main, bank.loss, bank.coil, bank.lossy_capacitor, bank.resistance]
        )
        owner = np.full(len(present), -1, dtype=np.intp)
        owner[rows] = np.arange(rows.size)
        here = present[sources]
        return cls(
            bank,
            plan,
            _prepared(plan),
            sources,
            None if (here == 1.0).all() else here[:, None, :],
            np.array([n for n, _ in ends], dtype=np.intp),
            np.array([d for _, d in ends], dtype=np.intp),
            steps,
            blank,
            owner[sources],
        )

    def work(self, table: Reals, omega: Reals, found: Sized, part: slice) -> None:
        """Work out a block of draws: table (rows, draws), omega (draws, r)."""
        taken = table.take(self.sources, axis=0)[:, :, None]
        values = taken if self.present is None else taken * self.present
        log_w = np.log(omega * (1.0 / OMEGA_REFERENCE))
        kept, alone = self._leaves(values, omega, log_w)
        slots = list(kept)
        for operator, left, right, result in self.operations:
            operator(slots[left], slots[right], slots[result])
        looks = np.arange(omega.shape[1])
        bottom = kept[self.bottom, :, looks]
        answer = kept[self.top, :, looks] / bottom
        size = np.abs(answer)
        found.value[part] = size.T
        if not found.by_row.size:
            return
        turned = np.divide(np.conj(answer), size, out=np.zeros_like(answer), where=size > 0.0)
        turned /= bottom
        slope = np.empty_like(kept)
        slope[self.blank] = 0.0
        slope[self.top, :, looks] += turned
        slope[self.bottom, :, looks] -= turned * answer
        run_steps(self.steps, slope, kept)
        by_row = found.by_row[:, part]
        found.by_log_f[part] = self._chain(slope, values, (alone, log_w), by_row)
        if self.present is not None:
            by_row *= self.present

    def _leaves(self, values: Reals, omega: Reals, log_w: Reals) -> tuple[Complexes, Complexes]:
        """Every slot, the leaves filled in; the reactances alone."""
        bank, plan = self.bank, self.plan
        kept = np.empty((plan.slots, *omega.shape), np.complex128)
        count, coils, series = bank.reactances, bank.coil.size, bank.lossy_capacitor.size
        real, imag = kept.real, kept.imag
        if count:
            loss = values[count : 2 * count]
            size = values[:count] * omega
            if bank.lossy.size:
                size *= np.exp(-loss * log_w)
                np.multiply(size, np.sin(0.5 * pi * loss), out=real[:count])
                np.multiply(size, np.cos(0.5 * pi * loss), out=imag[:count])
            else:
                real[:count], imag[:count] = 0.0, size
        alone = kept[:count].copy()
        rest = values[2 * count :]
        if series:
            branch = alone[count - series :]
            resistance = rest[coils : coils + series]
            np.multiply(resistance, branch.real, out=real[count : count + series])
            np.multiply(resistance, branch.imag, out=imag[count : count + series])
            real[count : count + series] += 1.0
        if coils:
            real[:coils] += rest[:coils]
        real[bank.varying : plan.leaves] = rest[coils + series :]
        imag[bank.varying : plan.leaves] = 0.0
        kept[plan.leaves] = 1.0
        return kept, alone

    def _chain(
        self,
        slope: Complexes,
        values: Reals,
        at: tuple[Complexes, Reals],
        found: Reals,
    ) -> Reals:
        """From slopes by the leaves to slopes by the values; those by ln f are given back."""
        (alone, log_w), bank = at, self.bank
        count, coils, series = bank.reactances, bank.coil.size, bank.lossy_capacitor.size
        rest, by_log_f = found[2 * count :], np.zeros(log_w.shape)
        if count:
            by_reactance = slope[:count]
            if series:
                numerator = slope[count : count + series]
                resistance = values[2 * count + coils : 2 * count + coils + series]
                by_reactance[count - series :] += resistance * numerator
                rest[coils : coils + series] = (numerator * alone[count - series :]).real
            main, loss = values[:count], values[count : 2 * count]
            rest[:coils] = by_reactance[:coils].real
            by_log = by_reactance * alone
            by_main = by_log.real
            np.divide(by_main, main, out=found[:count])
            if not main.all():
                found[:count][np.broadcast_to(main == 0.0, by_main.shape)] = 0.0
            np.multiply(by_log.imag, 0.5 * pi, out=found[count : 2 * count])
            found[count : 2 * count] -= by_main * log_w
            by_log_f = np.einsum("ijk,ij->jk", by_main, 1.0 - loss[:, :, 0])
        rest[coils + series :] = slope[bank.varying : self.plan.leaves].real
        return by_log_f
