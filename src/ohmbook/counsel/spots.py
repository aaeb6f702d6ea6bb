"""Spots: where a slip may be. The rows that stand or fall together, and what the rest foretells.

A spot is a reading, or one row of a reading's table: what is written there (a frequency, three
amplitudes) shares its slips. The readings of a spot are left out, the rest is settled, and what
should then stand at the spot follows with its covariance; a supposed slip is judged by the density
of the rewritten readings there. That is one linear step instead of a refit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import log, pi

import numpy as np

from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.estimates import Answer
from ohmbook.bench.row import Row
from ohmbook.counsel.mistakes import OTHER_SPAN
from ohmbook.counsel.sites import only_row
from ohmbook.counsel.weigh import Weighed, beginning, weigh
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.documents.reference import references
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.unknown import Array, Id

STARTS = 5


@dataclass(frozen=True, slots=True)
class Spot:
    """Where: a reading by its number from 0, the row of its table (None: the whole reading), and
    the labels of the observations there."""

    number: int
    row: int | None
    labels: tuple[str, ...]


def spot_of(compiled: Compiled, label: str) -> Spot:
    """The spot to which an observation belongs."""
    names = [reading.name for reading in compiled.sheet.readings]
    here = next(row for row in compiled.rows if row.label == label)
    mates = [row.label for row in compiled.rows if _mates(row, here)]
    return Spot(names.index(here.reading), here.place, tuple(mates))


def _mates(row: Row, here: Row) -> bool:
    return row.reading == here.reading and row.place == here.place


@dataclass(frozen=True, slots=True)
class Foretold:
    """What should stand at a spot, and what does.

    Args:
        rows: the observations of the spot as (re)written.
        mean: what they should be, shape (m,).
        covariance: of the difference, own errors included, shape (m, m).
        error: what instruments alone add to it, standard uncertainties, shape (m,).
    """

    rows: tuple[Row, ...]
    mean: Array
    covariance: Array
    error: Array

    @property
    def observed(self) -> Array:
        """What stands there, shape (m,)."""
        return np.array([row.observed for row in self.rows])

    @property
    def off(self) -> Array:
        """How far each observation is off, in standard uncertainties."""
        return np.asarray((self.observed - self.mean) / np.sqrt(np.diag(self.covariance)))

    @property
    def off_from_each_other(self) -> Array:
        """The same against the rest and the spot's other observations."""
        precision = np.linalg.pinv(self.covariance)
        left = np.maximum(np.diag(precision), 1e-300)
        return np.asarray(precision @ (self.observed - self.mean) / np.sqrt(left))

    def log_density(self, without: int | None = None) -> float:
        """ln of the density of what stands there, one observation left out or none."""
        kept = [k for k in range(len(self.rows)) if k != without]
        if not kept:
            return 0.0
        off = (self.observed - self.mean)[kept]
        covariance = self.covariance[np.ix_(kept, kept)]
        sign, size = np.linalg.slogdet(covariance)
        if not (sign > 0 and np.isfinite(off).all()):
            return -np.inf
        square = float(off @ np.linalg.solve(covariance, off))
        return -0.5 * (square + float(size) + len(kept) * log(2.0 * pi))

    def at_best(self) -> float:
        """ln of the density where everything is just as foretold."""
        size = float(np.linalg.slogdet(self.covariance)[1])
        return -0.5 * (size + len(self.rows) * log(2.0 * pi))

    def some_other(self) -> float:
        """ln of the density where one number, whichever, is anything at all and the rest right."""
        sizes = np.maximum(np.abs(self.observed), np.sqrt(np.diag(self.covariance)))
        alone = [
            self.log_density(without=k) - log(float(size) * OTHER_SPAN)
            for k, size in enumerate(sizes)
        ]
        return float(np.logaddexp.reduce(alone))


@dataclass(frozen=True)
class Scene:
    """A spot, and the rest settled without it.

    Args:
        sheet: as written.
        answer: the joint answer so far.
        spot: where.
        aside: labels that stay out besides those of the spot.
        rest: the sheet settled without spot and aside.
    """

    sheet: Sheet
    answer: Answer
    spot: Spot
    aside: tuple[str, ...]
    rest: Weighed = field(repr=False)

    @classmethod
    def of(
        cls,
        answer: Answer,
        spot: Spot,
        aside: Sequence[str],
        begins: Sequence[Mapping[Id, float]] = (),
    ) -> Scene | None:
        """Settle the rest; None where nothing else can be settled.

        Args:
            answer: the joint answer so far.
            spot: where.
            aside: labels that stay out besides those of the spot.
            begins: values to begin from besides the answer's.
        """
        sheet = answer.compiled.sheet
        out = tuple(dict.fromkeys([*spot.labels, *aside]))
        rest = weigh(sheet, answer, aside=out, begins=begins)
        others = tuple(label for label in aside if label not in spot.labels)
        return None if rest is None else cls(sheet, answer, spot, others, rest)

    def readings(self, sheet: Sheet) -> tuple[ReadingBase, ...]:
        """The spot's readings in a changed sheet: the one there, and what was moved out of it."""
        moved = sheet.readings[len(self.sheet.readings) :]
        return (only_row(sheet.readings[self.spot.number], self.spot.row), *moved)

    def _needed(self, sheet: Sheet) -> tuple[ReadingBase, ...]:
        """Readings that those of the spot refer to, such as the one with a meter's leads."""
        own = self.readings(sheet)
        named = {ref.name for one in own for ref in references(one) if ref.noun == "reading"}
        named -= {one.name for one in own}
        return tuple(one for one in sheet.readings if one.name in named)

    def foretold(self, sheet: Sheet) -> Foretold | None:
        """What should stand at the spot in a sheet changed there; None where rows are lost."""
        needed = self._needed(sheet)
        readings = (*needed, *self.readings(sheet))
        compiled = compile_sheet(sheet, readings, self.answer.compiled.beliefs)
        other = {one.name for one in needed}
        kept = [
            k for k, row in enumerate(compiled.rows) if row.reading not in other and self._here(row)
        ]
        if len(kept) != len(self.spot.labels):
            return None
        return self._foretold(compiled, kept, tuple(compiled.rows[k] for k in kept))

    @cached_property
    def as_written(self) -> Foretold | None:
        """What should stand at the spot as it is written."""
        return self.foretold(self.sheet)

    def _here(self, row: Row) -> bool:
        """Whether a row is the spot's own: what else the reading needs is in the rest already."""
        if self.spot.row is not None:
            return row.place is not None
        return row.label in self.spot.labels or row.label not in self.rest.problem.labels

    def _foretold(self, compiled: Compiled, kept: list[int], rows: tuple[Row, ...]) -> Foretold:
        problem = Problem.of(compiled.unknowns, [compiled])
        t = beginning(problem, self.rest.values)
        covariance = np.diag([one.prior.u**2 for one in compiled.unknowns])
        posterior = self.rest.posterior
        pairs = [
            (k, posterior.index(one)) for k, one in enumerate(compiled.ids) if one in self._known
        ]
        here, there = (list(column) for column in zip(*pairs, strict=True)) if pairs else ([], [])
        covariance[np.ix_(here, here)] = posterior.covariance[np.ix_(there, there)]
        slope = problem.whitening.colour(problem.jacobian(t) / problem.u)[kept]
        own = compiled.covariance[np.ix_(kept, kept)]
        mean = problem.predict(t[np.newaxis])[0][kept]
        shared = np.array([one.nuisance for one in compiled.unknowns], dtype=bool)
        error = slope[:, shared] @ covariance[np.ix_(shared, shared)] @ slope[:, shared].T + own
        return Foretold(rows, mean, slope @ covariance @ slope.T + own, np.sqrt(np.diag(error)))

    @cached_property
    def _known(self) -> frozenset[tuple[str, str]]:
        return frozenset(self.rest.posterior.ids)
