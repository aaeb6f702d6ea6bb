"""Estimates from the joint answer: each part's and source's values, with where they hold.

An inductance or capacitance falls slowly with frequency (its loss exponent), so it is reported at
the frequency where its own readings pin it best, or at one that is asked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import exp, log

import numpy as np

from ohmbook.bench.compile import Compiled
from ohmbook.bench.row import Row
from ohmbook.circuit.network import REFERENCE_HZ, Id
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.evidence import Combination, Posterior
from ohmbook.evidence.unknown import Array
from ohmbook.units.quantity import Unit

NORMAL_95 = 1.959964
"""Half a 95 % interval of a normal, in standard uncertainties."""

DETERMINED_BELOW = 0.5
"""A quantity is determined where its interval is under this share of what was believed before."""

TELLING = 1e-3
"""Squared slope, in units of the prior over a number's own error, from which it bears at all."""

_UNIT: dict[str, Unit] = {"inductance": "H", "capacitance": "F", "resistance": "ohm"}


@dataclass(frozen=True)
class Answer:
    """The joint answer to a compiled sheet.

    Args:
        compiled: the problem.
        posterior: the answer.
        corrected: intervals in natural units that replace the linear ones, by id, where the fit
            is too curved for them.
        at_hz: frequency at which inductances and capacitances are wanted; None for each part's
            own best.
    """

    compiled: Compiled
    posterior: Posterior
    corrected: dict[Id, tuple[float, float]]
    at_hz: float | None = None

    def estimates(self) -> tuple[Estimate, ...]:
        """Every quantity of every part and source, parts first."""
        found = [self._estimate(one) for one in self.quantities()]
        return tuple(found)

    def value(self, one: Id) -> float | None:
        """A quantity's value, SI; None where nothing of that name exists."""
        if one in self.compiled.constants:
            return self.compiled.constants[one]
        return self.posterior.value(one) if one in self.posterior.ids else None

    def at(self, part: str, f_hz: float) -> float | None:
        """A part's main value at a frequency, SI."""
        kind = self.compiled.sheet.parts[part].kind
        value = self.value((part, MAIN_QUANTITY[kind]))
        loss = self.value((part, "loss"))
        if value is None or loss is None:
            return value
        return value * exp(-loss * log(f_hz / REFERENCE_HZ))

    def kind(self, part: str) -> str:
        """What a part is."""
        return self.compiled.sheet.parts[part].kind

    def combination(self, one: Id, f_hz: float | None) -> Combination:
        """ln of a quantity, carried to a frequency where it has one."""
        weights = {one: 1.0}
        loss = (one[0], "loss")
        if f_hz is not None and loss in self.posterior.ids:
            weights[loss] = -log(f_hz / REFERENCE_HZ)
        return self.posterior.combination(weights)

    def frequency(self, one: Id) -> float | None:
        """Where a quantity is reported, Hz; None for a resistance."""
        if one[1] == "resistance":
            return None
        if self.at_hz is not None:
            return self.at_hz
        seen = self._seen_at(one)
        if not seen:
            return REFERENCE_HZ
        loss = (one[0], "loss")
        if loss not in self.posterior.ids:
            total = sum(weight for _, weight in seen)
            return float(exp(sum(weight * log(f) for f, weight in seen) / total))
        i, j = self.posterior.index(one), self.posterior.index(loss)
        covariance = self.posterior.covariance
        best = REFERENCE_HZ * exp(float(covariance[i, j] / covariance[j, j]))
        return float(min(max(best, min(seen)[0]), max(seen)[0]))

    def read_by(self, one: Id) -> tuple[str, ...]:
        """The readings that bear on a quantity, in order."""
        return tuple(dict.fromkeys(row.reading for row, _ in self._bearing(one)))

    def _estimate(self, one: Id) -> Estimate:
        unit = _UNIT[one[1]]
        if one in self.compiled.constants:
            value = self.compiled.constants[one]
            at = None if one[1] == "resistance" else self.at_hz or REFERENCE_HZ
            return Estimate(*one, value, 0.0, value, value, unit, False, at, "stated as exact")
        f_hz = self.frequency(one)
        here = self.combination(one, f_hz)
        value = exp(here.value)
        low, high = self.corrected.get(one, (exp(here.low), exp(here.high)))
        u = (high - low) / (2.0 * NORMAL_95) if one in self.corrected else value * here.u
        known = log(high / low) < DETERMINED_BELOW * 2.0 * NORMAL_95 * self._prior_u(one)
        return Estimate(*one, value, u, low, high, unit, known, f_hz, self._basis(one, known))

    def _prior_u(self, one: Id) -> float:
        return self.posterior.unknowns[self.posterior.index(one)].prior.u

    def _basis(self, one: Id, known: bool) -> str:
        readings = self.read_by(one)
        part = self.compiled.sheet.parts.get(one[0])
        stated = getattr(part, "stated", None) is not None and one[1] == (
            MAIN_QUANTITY[part.kind] if part else ""
        )
        source = self.compiled.sheet.sources.get(one[0])
        stated |= source is not None and source.resistance is not None
        if not readings:
            return "stated, not read" if stated else "not read"
        count = self._counted(one, readings)
        if not known:
            little = "adds little" if count.startswith("1 ") else "add little"
            return f"stated; {count} {little}" if stated else f"{count}, not enough"
        return count

    def _counted(self, one: Id, readings: tuple[str, ...]) -> str:
        numbers = int((self._weights(one) > TELLING).sum())
        count = f"{len(readings)} reading{'s' if len(readings) > 1 else ''}"
        return count if numbers == len(readings) else f"{numbers} numbers"

    def quantities(self) -> Iterator[Id]:
        """Every (part or source, quantity) that is reported, parts first."""
        entered = {*self.compiled.constants, *self.posterior.ids}
        for name, part in self.compiled.sheet.parts.items():
            wanted = dict.fromkeys([MAIN_QUANTITY[part.kind], "resistance"])
            for quantity in wanted:
                one = (name, quantity)
                exact = one in self.compiled.constants
                plain = exact and quantity != MAIN_QUANTITY[part.kind]
                plain |= part.kind == "driver" and not self.read_by(one)
                if one in entered and not plain:
                    yield one
        for name in self.compiled.sheet.sources:
            if (name, "resistance") in entered:
                yield (name, "resistance")

    def _seen_at(self, one: Id) -> list[tuple[float, float]]:
        return [
            (f, weight)
            for row, weight in self._bearing(one)
            if (f := frequency_of(row)) is not None and f > 0.0
        ]

    def _bearing(self, one: Id) -> list[tuple[Row, float]]:
        """Each row in use that bears on a quantity, and how strongly: prior u over own error."""
        weights = self._weights(one)
        return [(self._rows[k], float(weights[k])) for k in np.flatnonzero(weights > TELLING)]

    def _weights(self, one: Id) -> Array:
        """How strongly each row in use bears on a quantity."""
        if one not in self.posterior.ids:
            return np.zeros(0)
        return np.asarray(self.posterior.sensitivity[:, self.posterior.index(one)] ** 2)

    @cached_property
    def _rows(self) -> list[Row]:
        """The rows in use, in the order of the posterior's labels."""
        by_label = {row.label: row for row in self.compiled.rows}
        return [by_label[label] for label in self.posterior.labels]


def frequency_of(row: Row) -> float | None:
    """The frequency at which a row was read, Hz; None where it has none."""
    looks = row.model.looks
    if looks:
        return looks[0].f_hz
    f_hz = getattr(row.model, "f_hz", None)
    return float(f_hz) if f_hz is not None else None
