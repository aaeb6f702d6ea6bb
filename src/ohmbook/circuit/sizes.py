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

from ohmbook.circuit.adjoint import run_steps, steps_of
from ohmbook.circuit.element import Bank
from ohmbook.circuit.network import Id, Network
from ohmbook.circuit.plan import Plan
from ohmbook.circuit.road import roads
from ohmbook.circuit.run import OPERATORS, Complexes
from ohmbook.circuit.topology import Compiled, compiled
from ohmbook.circuit.values import OMEGA_REFERENCE, Inventory, Reals, inventory

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
        owners: for each row of slopes the number of the value among the known ones.
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
        if not self.plain:
            return None
        table = np.zeros((len(self.needs.ids) + 1, len(values)))
        table[self.rows] = values.T
        if not _sane(self.needs, table[:-1]):
            return None
        form = self._form(table)
        if form is None:
            return None
        count, draws = self.omega.size, len(values)
        found = Sized(
            np.empty((draws, count)),
            np.empty((form.owners.size, draws, count) if with_slopes else (0, 0, 0)),
            form.owners,
            np.empty((draws, count) if with_slopes else (0, 0)),
        )
        step = max(1, BLOCK // count)
        with np.errstate(all="ignore"):
            for k in range(0, draws, step):
                part = slice(k, k + step)
                form.work(table[:, part], self.omega * stretch[part], found, part)
        sound = np.isfinite(found.value).all() and np.isfinite(found.by_row).all()
        return found if sound else None

    def _form(self, table: Reals) -> _Form | None:
        given = np.asarray(table.any(axis=1) & self.present.any(axis=1))
        key = (~given[:-1]).tobytes()
        if key not in self._forms:
            ready = compiled(self.needs, key, False)
            self._forms[key] = _form(ready, self.present, self.outputs, self.rows)
        return self._forms[key]


def _sane(needs: Inventory, table: Reals) -> bool:
    """Whether the values can be; what is wrong with them the careful road says."""
    lowest, highest = table.min(axis=1), table.max(axis=1)
    good = (highest < np.inf) & (highest <= needs.largest) & ((lowest >= 0.0) | needs.signed)
    return bool((good & (lowest > -np.inf)).all())


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


@dataclass(frozen=True, slots=True, eq=False)
class _Form:
    """One topology at the looks: where everything comes from and goes to.

    Args:
        bank: how to work out the leaves from a table of values.
        plan: what is run.
        present: 1 where a value is present, shape (rows of the table, r).
        seeds: for each output its looks, and the slots of numerator and denominator.
        steps: the sweep.
        blank: the slots that a sweep has to begin at zero.
        owners: as in `Sized`.
        kept_rows: which of all rows of slopes belong to a value that was handed in.
        absent: whether some look lacks a reactance, a coil's or a capacitor's resistance, a
            resistance.
    """

    bank: Bank
    plan: Plan
    present: Reals
    seeds: tuple[tuple[Index, int, int], ...]
    steps: tuple[tuple[str, int, int, int], ...]
    blank: Index
    owners: Index
    kept_rows: Index
    absent: tuple[bool, bool, bool, bool]

    @classmethod
    def of(cls, bank: Bank, plan: Plan, within: Index, present: Reals, rows: Index) -> _Form:
        numbers = tuple(sorted(set(within.tolist())))
        seeds = []
        for number in numbers:
            output = plan.outputs[number]
            assert output is not None
            seeds.append((np.flatnonzero(within == number), output.n, output.d))
        steps, blank = steps_of(plan, numbers)
        sources = np.concatenate(
            [bank.main, bank.loss, bank.coil, bank.lossy_capacitor, bank.resistance]
        )
        owner = np.full(len(present), -1, dtype=np.intp)
        owner[rows] = np.arange(rows.size)
        kept = np.flatnonzero(owner[sources] >= 0)
        partly = [
            bool((present[some] != 1.0).any())
            for some in (bank.main, bank.coil, bank.lossy_capacitor, bank.resistance)
        ]
        return cls(
            bank,
            plan,
            present,
            tuple(seeds),
            steps,
            blank,
            owner[sources[kept]],
            kept,
            (partly[0], partly[1], partly[2], partly[3]),
        )

    def work(self, table: Reals, omega: Reals, found: Sized, part: slice) -> None:
        """Work out a block of draws: table (rows, draws), omega (draws, r)."""
        kept, reactances, log_w = self._kept(table, omega)
        for code, left, right, result in self._operations():
            OPERATORS[code](kept[left], kept[right], kept[result])
        with_slopes = bool(found.by_row.size)
        slope = np.empty_like(kept) if with_slopes else kept
        if with_slopes:
            slope[self.blank] = 0.0
        size = found.value[part]
        for looks, n, d in self.seeds:
            top, bottom = kept[n][:, looks], kept[d][:, looks]
            answer = top / bottom
            here = np.abs(answer)
            size[:, looks] = here
            if with_slopes:
                turned = np.zeros_like(answer)
                np.divide(np.conj(answer), here, out=turned, where=here > 0.0)
                turned /= bottom
                slope[n][:, looks] += turned
                slope[d][:, looks] -= turned * answer
        if with_slopes:
            run_steps(self.steps, slope, kept)
            self._chain(slope, (table, log_w, reactances), found, part)

    def _operations(self) -> list[tuple[str, int, int, int]]:
        first = self.plan.leaves + 1
        return [(code, a, b, first + k) for k, (code, a, b) in enumerate(self.plan.operations)]

    def _by_draw(self, table: Reals, rows: Index, partly: bool) -> Reals:
        """Values with a place for the looks: (rows, draws, 1), or (rows, draws, r)."""
        values = table[rows][:, :, None]
        return values * self.present[rows][:, None, :] if partly else values

    def _kept(self, table: Reals, omega: Reals) -> tuple[Complexes, Complexes, Reals]:
        """Every slot, the leaves filled in; the reactances alone; ln(w/w0)."""
        bank, plan = self.bank, self.plan
        kept = np.empty((plan.slots, *omega.shape), np.complex128)
        count, coils, series = bank.reactances, bank.coil.size, bank.lossy_capacitor.size
        log_w = np.log(omega * (1.0 / OMEGA_REFERENCE))
        reactances = kept[:count]
        size = self._by_draw(table, bank.main, self.absent[0]) * omega
        reactances.real = 0.0
        reactances.imag = size
        if bank.lossy.size:
            loss = table[bank.loss[bank.lossy]][:, :, None]
            size = size[bank.lossy] * np.exp(-loss * log_w)
            reactances.real[bank.lossy] = size * np.sin(0.5 * pi * loss)
            reactances.imag[bank.lossy] = size * np.cos(0.5 * pi * loss)
        alone = reactances.copy()
        if series:
            resistance = self._by_draw(table, bank.lossy_capacitor, self.absent[2])
            numerator = kept[count : count + series]
            np.multiply(resistance, alone[count - series :].real, out=numerator.real)
            np.multiply(resistance, alone[count - series :].imag, out=numerator.imag)
            numerator.real += 1.0
        if coils:
            kept.real[:coils] += self._by_draw(table, bank.coil, self.absent[1])
        still = kept[bank.varying : plan.leaves]
        still.imag = 0.0
        still.real = self._by_draw(table, bank.resistance, self.absent[3])
        kept[plan.leaves] = 1.0
        return kept, alone, log_w

    def _chain(
        self, slope: Complexes, at: tuple[Reals, Reals, Complexes], found: Sized, part: slice
    ) -> None:
        """From slopes by the leaves to slopes by the values."""
        (table, log_w, alone), bank = at, self.bank
        count, coils, series = bank.reactances, bank.coil.size, bank.lossy_capacitor.size
        by_reactance, numerator = slope[:count], slope[count : count + series]
        if series:
            resistance = self._by_draw(table, bank.lossy_capacitor, self.absent[2])
            by_reactance[count - series :] += resistance * numerator
        by_log = by_reactance * alone
        every = np.empty((2 * count + coils + series + bank.resistance.size, *log_w.shape))
        main, loss = table[bank.main][:, :, None], table[bank.loss][:, :, None]
        by_value = np.divide(1.0, main, out=np.zeros_like(main), where=main != 0.0)
        np.multiply(by_log.real, by_value, out=every[:count])
        np.multiply(by_log.imag, 0.5 * pi, out=every[count : 2 * count])
        every[count : 2 * count] -= by_log.real * log_w
        np.einsum("ijk,ij->jk", by_log.real, 1.0 - loss[:, :, 0], out=found.by_log_f[part])
        rest = every[2 * count :]
        rest[:coils] = slope[:coils].real
        if self.absent[1]:
            rest[:coils] *= self.present[bank.coil][:, None, :]
        if series:
            branch = numerator * alone[count - series :]
            rest[coils : coils + series] = branch.real
        rest[coils + series :] = slope[bank.varying : self.plan.leaves].real
        if self.absent[3]:
            rest[coils + series :] *= self.present[bank.resistance][:, None, :]
        found.by_row[:, part] = every[self.kept_rows]
