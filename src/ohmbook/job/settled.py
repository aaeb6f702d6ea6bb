"""Settle a sheet: every value from every reading, with what there is to tell."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from math import inf
from typing import Any

from ohmbook.bench.common import common_doubts
from ohmbook.bench.compile import Compiled, compile_sheet
from ohmbook.bench.estimates import Answer
from ohmbook.bench.implied import implied
from ohmbook.bench.kind import Reading
from ohmbook.bench.markings import consider
from ohmbook.bench.shares import shares
from ohmbook.bench.told import findings as told
from ohmbook.bench.validity import corrections
from ohmbook.circuit.network import Id
from ohmbook.counsel.alike import alike_findings
from ohmbook.counsel.asked import with_readings
from ohmbook.counsel.doubts import DISAGREE, Doubts, doubts
from ohmbook.counsel.doubts_told import doubt_findings
from ohmbook.counsel.relief import eased
from ohmbook.counsel.rivals import Slip
from ohmbook.counsel.slip_words import explained, slip_findings
from ohmbook.counsel.slips import Slips, slips
from ohmbook.counsel.steps import Progress, part
from ohmbook.documents.estimate import (
    CauseShare,
    CommonDoubt,
    Consistency,
    Estimate,
    Implied,
    Working,
    shares_document,
)
from ohmbook.documents.finding import Finding
from ohmbook.documents.reading import Sheet
from ohmbook.documents.setup import SetUp
from ohmbook.errors import CallError
from ohmbook.evidence import Posterior, consistency
from ohmbook.evidence import settle as settle_evidence
from ohmbook.job.pathless import compiled_with_a_way, pathless_findings

STARTS = 5
PLAIN = 0.995
"""Probability of a slip with a name above which the sketch is not looked into as well."""

LEAST_TRIALS = 40
"""Refits whose outermost one in 40 stands for each 2.5 % tail."""


@dataclass(frozen=True)
class Settled:
    """A sheet with every value worked out.

    Args:
        sheet: as it was read.
        posterior: the joint answer.
        estimates: every quantity of every part and source.
        consistency: do the readings agree?
        doubts: what may be wrong with the sketch; None where nothing needs explaining.
        tell: works out the findings.
        slips: the readings told as likely mistaken, with what would explain each.
    """

    sheet: Sheet
    posterior: Posterior
    estimates: tuple[Estimate, ...]
    consistency: Consistency
    answer: Answer = field(repr=False)
    doubts: Doubts | None = field(repr=False)
    tell: Callable[[], tuple[Finding, ...]] = field(repr=False, compare=False)
    slips: tuple[Slip, ...] = field(default=(), repr=False)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What there is to tell, the gravest first.

        Worked out when first looked at: values do not wait for the advice that goes with them.
        """
        return self.tell()

    @property
    def set_ups(self) -> tuple[tuple[str, SetUp], ...]:
        """(reading name, set-up), in order."""
        return self.answer.compiled.set_ups

    def estimate(self, name: str, quantity: str) -> Estimate:
        """One estimate.

        Raises:
            CallError: there is none of that name and quantity.
        """
        for one in self.estimates:
            if (one.name, one.quantity) == (name, quantity):
                return one
        known = ", ".join(dict.fromkeys(one.name for one in self.estimates))
        raise CallError(f'There is no {quantity} of "{name}"; the parts and sources are {known}.')

    def workings(self) -> tuple[Working, ...]:
        """Every reading worked out by hand, where there is a way."""
        return tuple(
            found
            for reading in self.sheet.readings
            if reading.struck is None
            and isinstance(reading, Reading)
            and (found := reading.working(self.answer)) is not None
        )

    def budget(self, name: str, quantity: str) -> tuple[CauseShare, ...]:
        """Where an estimate's doubt comes from, the largest share first."""
        return shares(self.answer, self.estimate(name, quantity))

    def common_doubts(self) -> tuple[CommonDoubt, ...]:
        """Causes that limit several values at once, with the reading that would ease each."""
        found = common_doubts(self.answer, self.estimates)
        return tuple(eased(self.answer, one, self.estimates) for one in found)

    def implied(self, name: str) -> tuple[Implied, ...]:
        """What each reading alone says of a part's main value, the settled value last."""
        first = next((one for one in self.estimates if one.name == name), None)
        return () if first is None else implied(self.answer, first)

    def document(self) -> dict[str, Any]:
        """The `--json` document (a contract: add to it, rename nothing)."""
        estimates: dict[str, dict[str, Any]] = {}
        for one in self.estimates:
            told = shares_document(shares(self.answer, one))
            estimates.setdefault(one.name, {})[one.quantity] = {**one.document(), "shares": told}
        return {
            "estimates": estimates,
            "consistency": self.consistency.document(),
            "findings": [one.document() for one in self.findings],
            "common_doubts": [one.document() for one in self.common_doubts()],
        }


@dataclass(frozen=True)
class _Options:
    at_hz: float | None
    trials: int
    progress: Progress | None
    seed: int


def settle(
    sheet: Sheet,
    *,
    at_hz: float | None = None,
    trials: int = 0,
    progress: Progress | None = None,
    seed: int = 1,
) -> Settled:
    """Work out every value of a sheet from every reading.

    Args:
        sheet: from `read_sheet`.
        at_hz: frequency at which inductances and capacitances are wanted, Hz; each part's own
            best where None.
        trials: Monte Carlo refits for the intervals, `LEAST_TRIALS` or more; 0 for none.
        progress: called with (done, of) while mistakes are looked for, and anew while refits run.
        seed: of everything random; the same seed gives the same answer.

    Returns:
        Every value, its interval, and what there is to tell.

    Raises:
        OhmbookError: a reading that cannot be modelled, or readings that cannot be settled.
    """
    if at_hz is not None and not 0.0 < at_hz < inf:
        raise CallError(f"A frequency of {at_hz} Hz was asked for; expected more than 0.")
    if trials and trials < LEAST_TRIALS:
        raise CallError(
            f"{trials} refits were asked for; expected at least {LEAST_TRIALS}, since fewer have "
            "no limits of 95 %, or 0 for none."
        )
    compiled, posterior, besides = fitted(sheet, seed, progress)
    return _settled(compiled, posterior, besides, _Options(at_hz, trials, progress, seed))


@dataclass(frozen=True)
class _Besides:
    """What the markings tell, which readings are likely mistaken, what may be wrong with the
    sketch."""

    marked: tuple[Finding, ...]
    slipped: Slips
    doubted: Doubts | None
    pathless: tuple[Finding, ...] = ()


def fitted(
    sheet: Sheet, seed: int, progress: Progress | None = None
) -> tuple[Compiled, Posterior, _Besides]:
    """The joint answer alone, with what the markings add and tell, slips and doubts.

    Args:
        sheet: from `read_sheet`.
        seed: of the starts.
        progress: called with (done, of) while mistakes are looked for.
    """
    whole = sheet
    compiled, pathless = compiled_with_a_way(whole)
    sheet = compiled.sheet
    posterior = _fit(compiled, seed)
    beliefs, marked = consider(sheet, posterior)
    if beliefs:
        compiled = compile_sheet(sheet, beliefs=beliefs)
        posterior = _fit(compiled, seed)
    answer = Answer(compiled, posterior, {})
    told = pathless_findings(answer, whole, pathless, part(progress, 0.0, 0.5))
    progress = part(progress, 0.5, 1.0) if pathless else progress
    slipped, doubted = _explanations(answer, progress)
    for _ in range(2):
        better = slipped.better or (None if doubted is None else doubted.better)
        if better is None:
            break
        # Looking for mistakes came upon values that fit the sheet as written after all.
        posterior = _fit(compiled, seed, better)
        slipped, doubted = _explanations(Answer(compiled, posterior, {}), progress)
    return compiled, posterior, _Besides(marked, slipped, doubted, told)


def _explanations(answer: Answer, progress: Progress | None) -> tuple[Slips, Doubts | None]:
    """What may be wrong with the readings and with the sketch; the sketch is not looked into where
    one slip is sure, nor several slips where one change of the sketch explains it all."""
    slipped = slips(answer, part(progress, 0.0, 0.25), one_at_most=True)
    if slipped.better or (slipped.one_correction and slipped.found[0].named > PLAIN):
        return slipped, None
    doubted = doubts(answer, part(progress, 0.25, 0.9))
    if slipped.several and not (doubted and (doubted.better or doubted.overturned)):
        slipped = slips(answer, part(progress, 0.9, 1.0))
    return slipped, doubted


def _waiting(sheet: Sheet) -> tuple[Finding, ...]:
    """What a plan still asks for, so that nobody takes it as counted."""
    if not sheet.waiting:
        return ()
    count, names = len(sheet.waiting), ", ".join(sheet.waiting)
    message = f'still to be read, and not counted ("?" stands in {"it" if count == 1 else "them"}'
    return (Finding("limit", f"{names}: {message})", sheet.waiting, ()),)


def _fit(compiled: Compiled, seed: int, begin: Mapping[Id, float] | None = None) -> Posterior:
    return settle_evidence(compiled.unknowns, [compiled], starts=STARTS, seed=seed, begin=begin)


def _settled(
    compiled: Compiled,
    posterior: Posterior,
    besides: _Besides,
    options: _Options,
) -> Settled:
    slipped, doubted = _likelier(besides.slipped, besides.doubted), besides.doubted
    contradicted = doubted is not None and doubted.disagree and not slipped.settled
    contradicted &= any(part.between for part in compiled.sheet.parts.values())
    linear = Answer(compiled, posterior, {}, options.at_hz)
    verdict = consistency(posterior)
    disagree = verdict.p_value is not None and verdict.p_value < DISAGREE
    corrected, bent = _corrections(linear, options, contradicted or disagree)
    answer = Answer(compiled, posterior, corrected, options.at_hz)
    estimates = answer.estimates()
    known = _Told(slipped, doubted, contradicted, besides.marked, bent, besides.pathless)
    return Settled(
        compiled.sheet,
        posterior,
        estimates,
        Consistency(verdict.chi_squared, verdict.degrees_of_freedom, verdict.p_value),
        answer,
        doubted,
        partial(_findings, answer, estimates, known),
        slipped.found,
    )


@dataclass(frozen=True)
class _Told:
    """What is known once a sheet is settled, for the findings to be worked out from."""

    slipped: Slips
    doubted: Doubts | None
    contradicted: bool
    marked: tuple[Finding, ...]
    bent: tuple[Finding, ...]
    pathless: tuple[Finding, ...]


def _findings(answer: Answer, estimates: tuple[Estimate, ...], known: _Told) -> tuple[Finding, ...]:
    compiled, slipped, doubted = answer.compiled, known.slipped, known.doubted
    sketch = () if doubted is None or slipped.settled else doubt_findings(doubted)
    accused = [label for slip in slipped.found for label in slip.scene.spot.labels]
    elsewhere = explained(slipped, compiled.labels)
    facts = told(answer, estimates, elsewhere, accused, contradicted=known.contradicted)
    return (
        *known.pathless,
        *slip_findings(slipped),
        *sketch,
        *with_readings(answer, _told(facts, sketch, slipped)),
        *alike_findings(compiled),
        *known.marked,
        *known.bent,
        *_waiting(compiled.sheet),
        *compiled.findings,
    )


def _corrections(
    linear: Answer, options: _Options, untrue: bool
) -> tuple[dict[Id, tuple[float, float]], tuple[Finding, ...]]:
    """Intervals that replace the linear ones; not walked for values that nothing makes true, or
    that a slip is known to have bent: there is no telling how far that takes, nor any use."""
    if untrue and not options.trials:
        return {}, ()
    return corrections(linear, options.trials, options.progress, options.seed)


def _likelier(slipped: Slips, doubted: Doubts | None) -> Slips:
    """The slips, unless a change of the sketch explains the readings better."""
    if not slipped.found or doubted is None:
        return slipped
    best = doubted.ranked[0].first if doubted.explained else None
    if best is None or best.change is None:
        return slipped if slipped.settled or not doubted.disagree else Slips()
    return slipped if slipped.settled and slipped.log_weight > best.log_weight else Slips()


def _told(
    facts: Sequence[Finding], sketch: tuple[Finding, ...], slipped: Slips
) -> Iterator[Finding]:
    """What the answer tells; a bare doubt about the sketch gives way to one that says more."""
    doubted = any(one.kind == "sketch doubt" for one in sketch) or slipped.settled
    for one in facts:
        if not (doubted and one.kind == "sketch doubt"):
            yield one
