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

from ohmbook.circuit.adjoint import Step, merged, run_steps, steps_of
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
        by_log_f: by ln f, shape (draws, r); empty where no frequency was stretched.
    """

    value: Reals
    by_row: Reals
    owners: Index
    by_log_f: Reals


@dataclass(frozen=True, slots=True, eq=False)
class _Waves:
    """Angular frequencies and ln(w/w0), of shape (r,), or (draws, r) where they are stretched."""

    omega: Reals
    log_w: Reals

    @classmethod
    def of(cls, omega: Reals) -> _Waves:
        """At angular frequencies above 0."""
        return cls(omega, np.log(omega * (1.0 / OMEGA_REFERENCE)))

    def of_draws(self, part: slice) -> _Waves:
        """Of some of the draws."""
        if self.omega.ndim == 1:
            return self
        return _Waves(self.omega[part], self.log_w[part])


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
        self.rows = np.array([self.needs.ids.index(one) for one in known], dtype=np.intp)
        self.present = np.ones((len(self.needs.ids) + 1, f_hz.size))
        self.present[self.rows] = present
        self.least = np.where(self.needs.signed, -np.inf, 0.0)[self.rows]
        self.most = np.minimum(self.needs.largest, np.finfo(float).max)[self.rows]
        special = self.needs.given or self.needs.mutuals or self.needs.cores or self.needs.semis
        self.plain = not special and bool(f_hz.all()) and bool(f_hz.size)
        self._forms: dict[bytes, _Form | None] = {}
        if self.plain:
            self.waves = _Waves.of(2.0 * pi * f_hz)

    def sizes(self, values: Reals, stretch: Reals | None, with_slopes: bool) -> Sized | None:
        """The absolute values at given values of the known ids.

        Args:
            values: SI, shape (draws, k).
            stretch: what each frequency is multiplied by, shape (draws, r); None for nothing.
            with_slopes: whether slopes are wanted.

        Returns:
            None where the careful road has to be taken.
        """
        if not self.plain or not ((values >= self.least) & (values <= self.most)).all():
            return None
        form = self._form(values)
        if form is None:
            return None
        waves = self.waves
        if stretch is not None:
            waves = _Waves.of(waves.omega * stretch)
        draws, looks = len(values), self.outputs.size
        found = Sized(
            np.empty((draws, looks)),
            np.empty((form.owners.size, draws, looks) if with_slopes else (0, 0, 0)),
            form.owners,
            np.empty((0, 0) if stretch is None else (draws, looks)),
        )
        step = max(1, BLOCK // looks)
        with np.errstate(all="ignore"):
            for k in range(0, draws, step):
                part = slice(k, k + step)
                form.work(values[part].T, waves.of_draws(part), found, part)
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
    topology, bank = ready.topology, ready.bank
    if not topology.source or topology.behind < 0:
        return None
    ways = roads(ready)
    if len(ways) > 1:
        return None
    places = dict(zip(ways[0].numbers, ways[0].within, strict=True))
    if any(number not in places for number in set(outputs.tolist())):
        return None
    if (present[bank.loss] < present[bank.main]).any():
        return None
    within = np.array([places[number] for number in outputs.tolist()], dtype=np.intp)
    return _Form.of(bank, ways[0].plan, within, present, rows)


def _prepared(plan: Plan) -> tuple[tuple[Operator, int, int, int], ...]:
    """A plan's operations, each with the slot of its result."""
    found: list[tuple[Operator, int, int, int]] = []
    for k, (code, left, right) in enumerate(plan.operations):
        found.append((OPERATORS[code], left, right, plan.leaves + 1 + k))
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class _Form:
    """One topology at the looks: where everything comes from and goes to.

    Rows are of main values, losses, series resistances of coils and of capacitors, resistances.

    Args:
        bank: how to work out the leaves from the rows.
        plan: what is run.
        operations: its operations with the slot of each result.
        owners: as in `Sized`.
        columns: the same, 0 where there is none.
        nothing: the rows that have no owner: they are zero.
        gated: the rows that are absent at some look.
        gates: 1 where such a row is present, shape (gated, 1, r).
        mains: the same for every main value, shape (reactances, 1, r or 1).
        rest: for every row after the losses.
        ends: the slots of each look's numerator and denominator, shape (2, r).
        seeds: the places of their slopes.
        steps: the sweep, by places.
        blank: the places that a sweep has to begin at zero.
    """

    bank: Bank
    plan: Plan
    operations: tuple[tuple[Operator, int, int, int], ...]
    owners: Index
    columns: Index
    nothing: Index
    gated: Index
    gates: Reals
    mains: Reals | None
    rest: Reals | None
    ends: Index
    seeds: Index
    steps: tuple[Step, ...]
    blank: Index

    @classmethod
    def of(cls, bank: Bank, plan: Plan, within: Index, present: Reals, rows: Index) -> _Form:
        """Of looks at the outputs `within` the plan."""
        outputs = [plan.outputs[number] for number in within.tolist()]
        ends = [(one.n, one.d) for one in outputs if one is not None]
        swept, blank = steps_of(plan, tuple(sorted(set(within.tolist()))))
        steps, place = merged(swept, plan.slots)
        sources = np.concatenate(
            [bank.main, bank.loss, bank.coil, bank.lossy_capacitor, bank.resistance]
        )
        owner = np.full(len(present), -1, dtype=np.intp)
        owner[rows] = np.arange(rows.size)
        owners, here = owner[sources], present[sources][:, None, :]
        absent, count = (here != 1.0).any(axis=(1, 2)), bank.reactances
        return cls(
            bank,
            plan,
            _prepared(plan),
            owners,
            np.maximum(owners, 0),
            np.flatnonzero(owners < 0),
            np.flatnonzero(absent),
            here[absent],
            here[:count] if absent[:count].any() else None,
            here[2 * count :] if absent[2 * count :].any() else None,
            np.array(ends, dtype=np.intp).T,
            place[np.array(ends, dtype=np.intp)].T,
            steps,
            np.unique(place[blank]),
        )

    def work(self, values: Reals, waves: _Waves, found: Sized, part: slice) -> None:
        """Work out a block of draws: values of the known ids, shape (k, draws)."""
        taken = values.take(self.columns, axis=0)
        if self.nothing.size:
            taken[self.nothing] = 0.0
        looks = self.ends.shape[1]
        points = taken.shape[1] * looks
        kept = np.empty((self.plan.slots, taken.shape[1], looks), np.complex128)
        leaves = self._fill(kept, taken, waves)
        slots = list(kept)
        for operator, left, right, result in self.operations:
            operator(slots[left], slots[right], slots[result])
        place = np.arange(points).reshape(-1, looks)
        answer, bottom = kept.reshape(-1).take(place + (self.ends * points)[:, None])
        answer /= bottom
        size = np.abs(answer, out=found.value[part])
        if not found.by_row.size:
            return
        turned = np.conj(answer)
        turned /= size * bottom
        if not size.all():
            turned[size == 0.0] = 0.0
        slope = np.empty_like(kept)
        slope[self.blank] = 0.0
        top, below = place + (self.seeds * points)[:, None]
        flat = slope.reshape(-1)
        flat[top] = turned
        flat[below] -= turned * answer
        run_steps(self.steps, list(slope), slots)
        by_row = found.by_row[:, part]
        by_log = self._chain(slope, (kept, taken), leaves, by_row)
        if found.by_log_f.size:
            loss = taken[self.bank.reactances : 2 * self.bank.reactances]
            found.by_log_f[part] = np.einsum("ijk,ij->jk", by_log * leaves.main, 1.0 - loss)
        if self.gated.size:
            by_row[self.gated] *= self.gates

    def _fill(self, kept: Complexes, taken: Reals, waves: _Waves) -> _Leaves:
        """Fill in the leaves' slots and the number 1."""
        bank, leaves = self.bank, self.plan.leaves
        count, coils, series = bank.reactances, bank.coil.size, bank.lossy_capacitor.size
        real, imag = kept.real, kept.imag
        made = _Leaves.of(bank, taken, waves, kept.shape[1:], self.mains)
        if count:
            np.multiply(made.unit.real, made.main, out=real[:count])
            np.multiply(made.unit.imag, made.main, out=imag[:count])
        rest = taken[2 * count :, :, None]
        if self.rest is not None:
            rest = rest * self.rest
        if series:
            resistance, numerator = rest[coils : coils + series], slice(count, count + series)
            np.multiply(resistance, real[count - series : count], out=real[numerator])
            np.multiply(resistance, imag[count - series : count], out=imag[numerator])
            real[numerator] += 1.0
        if coils:
            real[:coils] += rest[:coils]
        kept[bank.varying : leaves] = rest[coils + series :]
        kept[leaves] = 1.0
        return made

    def _chain(
        self, slope: Complexes, at: tuple[Complexes, Reals], made: _Leaves, found: Reals
    ) -> Reals:
        """From slopes by the leaves to slopes by the values; those by each ln main value over that
        value are given back."""
        (kept, taken), bank = at, self.bank
        count, coils, series = bank.reactances, bank.coil.size, bank.lossy_capacitor.size
        rest, by_reactance = found[2 * count :], slope[:count]
        if series:
            numerator = slope[count : count + series]
            resistance = taken[2 * count + coils : 2 * count + coils + series, :, None]
            if self.rest is not None:
                resistance = resistance * self.rest[coils : coils + series]
            by_reactance[count - series :] += resistance * numerator
            rest[coils : coils + series] = (numerator * kept[count - series : count]).real
        rest[coils + series :] = slope.real[bank.varying : self.plan.leaves]
        rest[:coils] = by_reactance.real[:coils]
        by_unit = by_reactance * made.unit
        by_main, loss = by_unit.real, found[count : 2 * count]
        found[:count] = by_main
        np.multiply(by_unit.imag, 0.5 * pi, out=loss)
        loss -= by_main * made.log_w
        loss *= made.main
        return by_main


@dataclass(frozen=True, slots=True, eq=False)
class _Leaves:
    """The reactances: main values (1 or more looks), what each is multiplied by, and ln(w/w0)."""

    main: Reals
    unit: Complexes
    log_w: Reals

    @classmethod
    def of(
        cls, bank: Bank, taken: Reals, waves: _Waves, shape: tuple[int, ...], gates: Reals | None
    ) -> _Leaves:
        """At values by row, shape (rows, draws); the unit of a reactance is jw (jw/w0)^(-loss)."""
        count = bank.reactances
        main = taken[:count, :, None]
        if gates is not None:
            main = main * gates
        unit = np.empty((count, *shape), np.complex128)
        if bank.lossy.size:
            # as sin + j cos, so that a loss of exactly 0 leaves a real part of exactly 0
            loss = taken[count : 2 * count, :, None]
            angle = (0.5 * pi) * loss
            size = np.exp(-loss * waves.log_w)
            size *= waves.omega
            np.multiply(size, np.sin(angle), out=unit.real)
            np.multiply(size, np.cos(angle), out=unit.imag)
        else:
            unit.real, unit.imag = 0.0, waves.omega
        return cls(main, unit, waves.log_w)
