"""Gross slips: a reading that fits nothing must not drag the answer.

Where the readings disagree (p < 0.001), those that a heavy-tailed fit leaves standing alone are
left out on trial. The fit without them is the answer only if the rest then agree (p > 0.01), the
odd readings lie more than four standard uncertainties off what the rest make of them, no other
choice does about as well, and no value hangs on them alone (undetermined without, determined with,
both counted at the answer of the rest: where a slip drags the fit its own claims mean nothing).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmbook.evidence.consistency import Consistency, consistency, strains
from ohmbook.evidence.design import updated
from ohmbook.evidence.observation import Block
from ohmbook.evidence.posterior import Posterior
from ohmbook.evidence.problem import Problem
from ohmbook.evidence.search import answers, posterior_of, scouted
from ohmbook.evidence.starts import cooled, robust, starts
from ohmbook.evidence.unknown import Array, Unknown

_DISAGREE = 1e-3
_AGREE = 0.01
_STANDS_OUT = 4.0
_SUSPECTS = 4
_CLEARLY_BETTER = 6.0


@dataclass(frozen=True, slots=True)
class _Trial:
    """A fit without some readings, and whether the rest then agree."""

    aside: tuple[str, ...]
    posterior: Posterior
    verdict: Consistency

    @property
    def agrees(self) -> bool:
        return self.verdict.p_value is not None and self.verdict.p_value > _AGREE


def without_slips(
    unknowns: Sequence[Unknown],
    blocks: Sequence[Block],
    posterior: Posterior,
    count: int,
    seed: int,
) -> Posterior:
    """The posterior itself, or the one without the readings that are gross slips.

    Args:
        unknowns: as settled.
        blocks: as settled.
        posterior: of all readings.
        count: starts of a search.
        seed: of the starts.
    """
    p_value = consistency(posterior).p_value
    if p_value is None or p_value >= _DISAGREE:
        return posterior
    problem = Problem.of(unknowns, blocks)
    chosen = starts(problem, posterior.mode, count, seed)
    anchors = [fit.t for fit in robust(problem, [*cooled(problem, chosen), posterior.mode])[:2]]
    bench = _Bench(unknowns, blocks, problem, posterior, (*anchors, posterior.mode))
    trial = bench.search()
    if trial is None:
        return posterior
    rest = Problem.of(unknowns, blocks, frozenset(trial.aside))
    modes = answers(rest, trial.posterior.mode, count, seed)
    final = posterior_of(rest, modes, trial.aside)
    return final if bench.accepts(_Trial(trial.aside, final, consistency(final))) else posterior


@dataclass(frozen=True, slots=True)
class _Bench:
    """What trials are made from."""

    unknowns: Sequence[Unknown]
    blocks: Sequence[Block]
    problem: Problem
    whole: Posterior
    anchors: tuple[Array, ...]

    def search(self) -> _Trial | None:
        """Leave out one more reading at a time until the rest agree, or the limit is reached."""
        limit = max(1, len(self.problem.labels) // 10)
        here = _Trial((), self.whole, consistency(self.whole))
        while len(here.aside) < limit:
            trials = [self._try(aside) for aside in self._candidates(here, limit)]
            if not trials:
                return None
            agreeing = [trial for trial in trials if trial.agrees]
            if agreeing:
                return _clear_winner(agreeing)
            here = min(trials, key=lambda trial: (len(trial.aside), trial.verdict.chi_squared))
        return None

    def accepts(self, trial: _Trial) -> bool:
        """Whether a trial's readings are slips: the rest agree, they stand out, nothing is lost."""
        if not trial.agrees:
            return False
        rows = [self.problem.labels.index(label) for label in trial.aside]
        mode, covariance = trial.posterior.mode, trial.posterior.covariance
        own = np.diag(self.problem.whitening.sigma[rows] ** 2)
        off = (self.problem.observed - self.problem.predict(mode[np.newaxis])[0])[rows]
        white = self.problem.jacobian(mode) / self.problem.u
        matrix = self.problem.whitening.colour(white)[rows]
        spread = own + matrix @ covariance @ matrix.T
        stands_out = bool(np.all(np.abs(off) > _STANDS_OUT * np.sqrt(np.diag(spread))))
        lost = ~_determined(trial.posterior, covariance) & _determined(
            trial.posterior, updated(covariance, matrix, own)
        )
        return stands_out and not lost.any()

    def _candidates(self, here: _Trial, limit: int) -> list[tuple[str, ...]]:
        """Sets to leave out: what is out already and one suspect more; all loners at once."""
        standing = [s for s in strains(here.posterior) if not s.unchecked]
        standing.sort(key=lambda strain: -abs(strain.residual))
        named = [s.label for s in standing[:_SUSPECTS] if abs(s.residual) > _STANDS_OUT]
        sets = []
        for anchor in self.anchors[:-1]:
            alone = self._alone(anchor)
            named += [label for label in alone[:_SUSPECTS] if label not in here.aside]
            if 1 < len(alone) <= limit:
                sets.append(tuple(sorted(alone, key=self.problem.labels.index)))
        singles = [
            tuple(sorted((*here.aside, label), key=self.problem.labels.index)) for label in named
        ]
        return list(dict.fromkeys([*singles, *sets]))

    def _alone(self, anchor: Array) -> list[str]:
        """Readings far from a heavy-tailed fit, the farthest first."""
        residuals = np.abs(self.problem.residuals(anchor))
        order = np.argsort(-residuals, kind="stable")
        return [self.problem.labels[place] for place in order if residuals[place] > _STANDS_OUT]

    def _try(self, aside: tuple[str, ...]) -> _Trial:
        rest = Problem.of(self.unknowns, self.blocks, frozenset(aside))
        posterior = posterior_of(rest, scouted(rest, self.anchors), aside)
        return _Trial(aside, posterior, consistency(posterior))


def _clear_winner(agreeing: Sequence[_Trial]) -> _Trial | None:
    """The fewest readings, then the best agreement; None where another does about as well."""
    fewest = min(len(trial.aside) for trial in agreeing)
    rivals = [trial for trial in agreeing if len(trial.aside) == fewest]
    rivals.sort(key=lambda trial: trial.verdict.chi_squared)
    best = rivals[0]
    if len(rivals) > 1:
        margin = rivals[1].verdict.chi_squared - best.verdict.chi_squared
        if margin < _CLEARLY_BETTER:
            return None
    return best


def _determined(posterior: Posterior, covariance: Array) -> NDArray[np.bool_]:
    prior_u = np.array([unknown.prior.u for unknown in posterior.unknowns])
    value = np.array([not unknown.nuisance for unknown in posterior.unknowns])
    return np.asarray((np.sqrt(np.diag(covariance)) < 0.5 * prior_u) & value)
