"""The reading that would settle what is left open, added to the findings that leave it open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.bench.unsettled import SMALL
from ohmbook.circuit.network import Id
from ohmbook.counsel.plausible import UNIT
from ohmbook.counsel.separate import Possible, telling
from ohmbook.documents.finding import Finding
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.evidence.unknown import Array
from ohmbook.units.show import show_plain

MOST = 3
"""How many findings get a reading looked for: each look costs some tenths of a second."""

APART = 1.5
"""How many standard uncertainties either side two values of an open quantity are taken."""

ALONE = "Lift one leg of either and read it alone"


def with_readings(answer: Answer, findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings, with the reading that would tell where something is left open between two.

    Args:
        answer: the joint answer.
        findings: in order.
    """
    looked = 0
    for one in findings:
        pair = _pair(answer, one) if looked < MOST else None
        if pair is None:
            yield one
            continue
        looked += 1
        yield replace(one, message=f"{one.message}. {_words(answer, one, *pair)}")


def _pair(answer: Answer, finding: Finding) -> tuple[Possible, Possible] | None:
    """Two answers that a finding leaves open."""
    if finding.kind == "two answers" and finding.explanations:
        return _modes(answer, finding)
    small = finding.message.startswith(SMALL)
    if finding.kind == "not determined" and len(finding.parts) == 2 and not small:
        return _ends(answer, finding)
    return None


def _modes(answer: Answer, finding: Finding) -> tuple[Possible, Possible] | None:
    shares = [one.probability for one in finding.explanations]
    modes = [one.t for one in answer.posterior.modes if one.share in shares]
    return (_possible(answer, modes[0]), _possible(answer, modes[1])) if len(modes) > 1 else None


def _ends(answer: Answer, finding: Finding) -> tuple[Possible, Possible] | None:
    """A little either way along what the readings leave free, everything else moving with it."""
    posterior = answer.posterior
    one = next((found for name in finding.parts if (found := _open(answer, name))), None)
    if one is None:
        return None
    place = posterior.index(one)
    along = posterior.covariance[:, place] / posterior.u(one)
    ends = [posterior.mode + side * APART * along for side in (-1.0, 1.0)]
    return _possible(answer, ends[0]), _possible(answer, ends[1])


def _open(answer: Answer, name: str) -> Id | None:
    """The value of a part or source that a finding calls open."""
    part = answer.compiled.sheet.parts.get(name)
    one = (name, "resistance" if part is None else MAIN_QUANTITY[part.kind])
    return one if one in answer.posterior.ids else None


def _possible(answer: Answer, t: Array) -> Possible:
    x = np.array(
        [
            np.exp(ti) if one.scale == "log" else ti
            for ti, one in zip(t, answer.posterior.unknowns, strict=True)
        ]
    )
    values = dict(zip(answer.posterior.ids, (float(v) for v in x), strict=True))
    return Possible(answer.compiled.sheet, values)


def _words(answer: Answer, finding: Finding, one: Possible, other: Possible) -> str:
    found = telling(answer, one, other)
    if found is None:
        return ALONE if finding.kind == "not determined" else "No reading on offer tells them apart"
    names = [_named(answer, finding, possible) for possible in (one, other)]
    return f"To tell: {found.words(names)}"


def _named(answer: Answer, finding: Finding, possible: Possible) -> str:
    name = next(one for one in finding.parts if _open(answer, one))
    opened = _open(answer, name)
    assert opened is not None
    return f"{name} is {show_plain(possible.values[opened], UNIT[opened[1]], 2)}"
