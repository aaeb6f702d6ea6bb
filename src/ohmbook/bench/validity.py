"""Whether the linear intervals may be believed, and better ones where they may not."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import exp, log

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.circuit.network import REFERENCE_HZ, Id
from ohmbook.documents.finding import Finding
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.evidence import Curvature, Refits, curvature, profile_intervals, refits
from ohmbook.evidence.refits import VALIDATING_TRIALS

WIDE = 0.08
"""Relative uncertainty above which a fit is looked at for its curvature."""

NOT_SETTLED = 0.6
"""Share of the prior's uncertainty above which an estimate is mostly the prior's."""

VAGUE = 0.4
"""Uncertainty on the log scale above which a belief is only within a factor."""

LEANS = 0.2
"""Share of a variance that comes from vague beliefs above which an estimate leans on them."""

Intervals = dict[Id, tuple[float, float]]
Progress = Callable[[int, int], None]


def corrections(
    answer: Answer, trials: int, progress: Progress | None, seed: int
) -> tuple[Intervals, tuple[Finding, ...]]:
    """Intervals, natural units, that replace the linear ones, and what to tell of it.

    Args:
        answer: the joint answer with its linear intervals.
        trials: Monte Carlo refits; 0 for the curvature check and profile intervals only.
        progress: called with (done, of) while refits run.
        seed: of the refits.
    """
    if trials:
        return _by_refits(answer, trials, progress, seed)
    doubtful, checked = _curved(answer)
    if not doubtful:
        return {}, ()
    compiled = answer.compiled
    found: Intervals = {}
    intervals = profile_intervals(
        compiled.unknowns, [compiled], answer.posterior, doubtful, checked=checked
    )
    for one, walked in zip(doubtful, intervals, strict=True):
        if walked.holds:
            found[one] = _carried(answer, one, (walked.low, walked.high))
    names = ", ".join(_said(answer, one) for one in found)
    told = Finding(
        "limit",
        f"These intervals are uneven about their values, and were followed outwards along the "
        f"readings: {names}. There is nothing to do about it",
        parts=tuple(dict.fromkeys(name for name, _ in found)),
    )
    return found, (told,) if found else ()


def _said(answer: Answer, one: Id) -> str:
    """A quantity as the table of values calls it."""
    name, quantity = one
    part = answer.compiled.sheet.parts.get(name)
    main = part is None or quantity == MAIN_QUANTITY[part.kind]
    return name if main else f"{name} in series"


def _carried(answer: Answer, one: Id, walked: tuple[float, float]) -> tuple[float, float]:
    """An interval walked at the reference frequency, carried to where the value is reported.

    Each side keeps its shape and takes the share of the uncertainty that is left there.
    """
    posterior = answer.posterior
    t = float(posterior.mode[posterior.index(one)])
    here = answer.combination(one, answer.frequency(one))
    share = here.u / posterior.u(one)
    low, high = (exp(here.value + share * (log(bound) - t)) for bound in walked)
    return low, high


def _leaning(answer: Answer) -> list[Id]:
    """Quantities that lean on something believed only within a factor (another's resistance).

    A straight line cannot follow a factor, whatever the quantity's own uncertainty is.
    """
    posterior = answer.posterior
    vague = np.array([one.scale == "log" and one.prior.u > VAGUE for one in posterior.unknowns])
    m = len(posterior.labels)
    found = []
    for one in _settled(answer):
        k = posterior.index(one)
        others = vague.copy()
        others[k] = False
        shares = posterior.gain[k] ** 2 / float(posterior.gain[k] @ posterior.gain[k])
        if float(shares[m:][others].sum()) > LEANS:
            found.append(one)
    return found


def _curved(answer: Answer) -> tuple[Sequence[Id], Sequence[Curvature]]:
    """Whose intervals are to be walked, and the checks that were made."""
    posterior, compiled = answer.posterior, answer.compiled
    leaning = _leaning(answer)
    wide = [one for one in _settled(answer) if one not in leaning and posterior.u(one) > WIDE]
    checked = curvature(compiled.unknowns, [compiled], posterior, [*leaning, *wide])
    bent = [one.id for one in checked[len(leaning) :] if not one.holds]
    return [*leaning, *bent], checked


def _settled(answer: Answer) -> list[Id]:
    """The quantities that are more the readings' than the prior's."""
    posterior = answer.posterior
    return [
        one
        for one in answer.quantities()
        if one in posterior.ids
        and posterior.u(one) < NOT_SETTLED * posterior.unknowns[posterior.index(one)].prior.u
    ]


def _by_refits(
    answer: Answer, trials: int, progress: Progress | None, seed: int
) -> tuple[Intervals, tuple[Finding, ...]]:
    compiled, posterior = answer.compiled, answer.posterior
    drawn = refits(compiled.unknowns, [compiled], posterior, trials, seed, progress)
    found: Intervals = {}
    for one in answer.quantities():
        if one in posterior.ids:
            low, high = np.quantile(_at(answer, drawn, one), [0.025, 0.975])
            found[one] = (float(low), float(high))
    failed = f"; {drawn.failed} of them did not come to rest" if drawn.failed else ""
    told = Finding(
        "limit",
        f"Intervals are from {trials} repeats of the whole evening with every "
        f"error drawn anew ({_claim(drawn)}){failed}",
    )
    return found, (told,)


def _claim(drawn: Refits) -> str:
    """What so many repeats may be called, and what would be needed for more."""
    if drawn.claim == "validated":
        return "validated as JCGM 101, clause 8, has it"
    return (
        f"indicative: a claim of validity after JCGM 101, clause 8, takes {VALIDATING_TRIALS} "
        "repeats, of which all but one in a thousand come to rest"
    )


def _at(answer: Answer, drawn: Refits, one: Id) -> np.ndarray:
    """A quantity's refits, carried to the frequency where it is reported."""
    values = np.log(drawn.values[:, drawn.ids.index(one)])
    f_hz, loss = answer.frequency(one), (one[0], "loss")
    if f_hz is not None and loss in drawn.ids:
        values = values - drawn.values[:, drawn.ids.index(loss)] * log(f_hz / REFERENCE_HZ)
    return np.asarray(np.exp(values))
