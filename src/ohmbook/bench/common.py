"""One cause that several estimates have in common: the source check that limits every coil."""

from __future__ import annotations

from collections.abc import Sequence

from ohmbook.bench.estimates import Answer
from ohmbook.bench.shares import shares
from ohmbook.documents.estimate import CauseShare, CommonDoubt, Estimate

SHARED_BY = 2
"""Estimates that a cause must limit to be called common."""

LIMITS = 0.25
"""Share of an estimate's variance from which a cause limits it."""


def common_doubts(answer: Answer, estimates: Sequence[Estimate]) -> tuple[CommonDoubt, ...]:
    """Causes that limit several of the determined estimates, the most telling first.

    A reading counts with its own circumstances (its load, its open amplitude). What is merely
    believed of a part belongs to nobody else, and a reading of many numbers is no single cause:
    both are left out.

    Args:
        answer: the joint answer.
        estimates: whose doubts; one for each part or source is taken, its first.
    """
    limited: dict[tuple[str, str], list[tuple[str, float]]] = {}
    remedies: dict[tuple[str, str], CauseShare] = {}
    for one in _firsts(estimates):
        for key, (share, largest) in _grouped(answer, one).items():
            if share >= LIMITS:
                limited.setdefault(key, []).append((one.name, share))
            remedies.setdefault(key, largest)
    found = [
        CommonDoubt(
            _words(answer, key),
            key[1],
            tuple(sorted(names, key=lambda name: -name[1])),
            remedies[key].remedy,
        )
        for key, names in limited.items()
        if len(names) >= SHARED_BY
    ]
    return tuple(sorted(found, key=lambda doubt: -sum(share for _, share in doubt.limits)))


def _firsts(estimates: Sequence[Estimate]) -> list[Estimate]:
    firsts: dict[str, Estimate] = {}
    for one in estimates:
        firsts.setdefault(one.name, one)
    return [one for one in firsts.values() if one.determined]


def _grouped(answer: Answer, estimate: Estimate) -> dict[tuple[str, str], tuple[float, CauseShare]]:
    """(cause or "reading", owner) with the summed share and its largest cause."""
    found: dict[tuple[str, str], tuple[float, CauseShare]] = {}
    for cause in shares(answer, estimate):
        by_reading = cause.group in ("reading", "circumstance")
        if cause.group == "belief" or (by_reading and _numbers(answer, cause.owner) != 1):
            continue
        key = ("reading", cause.owner) if by_reading else (cause.cause, cause.owner)
        share, largest = found.get(key, (0.0, cause))
        found[key] = (share + cause.share, largest)
    return found


def _numbers(answer: Answer, reading: str) -> int:
    """How many rows a reading has, those of its open amplitude and leads not counted twice."""
    circuits = [
        row.label for row in answer.compiled.rows if row.reading == reading and row.model.looks
    ]
    return len(circuits)


def _words(answer: Answer, key: tuple[str, str]) -> str:
    cause, owner = key
    if cause != "reading":
        return cause
    kind = next((one.kind for one in answer.compiled.sheet.readings if one.name == owner), None)
    return owner if kind is None or kind in owner else f"{owner} ({kind})"
