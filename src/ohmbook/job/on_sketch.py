"""What stands beside the parts of a sketch: settled values, what is open, what is doubted."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ohmbook.documents.estimate import Estimate
from ohmbook.documents.finding import Finding, FindingKind
from ohmbook.documents.part import MAIN_QUANTITY, Part
from ohmbook.documents.reading import Sheet
from ohmbook.job.settled import Settled
from ohmbook.report.words import how_well
from ohmbook.units.show import show, show_plain

NOT_READ = "not read"
"""The basis of an estimate that rests on belief alone."""

SHOWN: tuple[FindingKind, ...] = ("sketch doubt", "slip", "strained", "two answers")
"""Findings that are drawn on the parts they are about."""


def on_sketch(settled: Settled) -> dict[str, Any]:
    """Values and doubts for a sketch, as JSON.

    Args:
        settled: the board.
    """
    found = [replace(one, parts=_parts(one, settled.sheet)) for one in _shown(settled)]
    doubted = {part for one in found for part in one.parts}
    values = {}
    for name, part in settled.sheet.parts.items():
        estimate = _main(settled.estimates, name, part)
        if estimate is not None:
            values[name] = _value(estimate, doubted=name in doubted)
        elif part.stated is not None:
            stated = show(part.stated.value, part.stated.unit)
            values[name] = {"value": stated, "well": "", "state": "stated"}
    return {"values": values, "findings": [_finding(one) for one in found]}


def _shown(settled: Settled) -> list[Finding]:
    return [one for one in settled.findings if one.kind in SHOWN]


def _parts(one: Finding, sheet: Sheet) -> tuple[str, ...]:
    """The parts of a finding; those that its readings are of, where it names none."""
    named = [each for each in sheet.readings if each.name in one.readings]
    refs = (ref for each in named for ref in each.references() if ref.key[0] == "part")
    return one.parts or tuple(dict.fromkeys(ref.name for ref in refs))


def _main(estimates: tuple[Estimate, ...], name: str, part: Part) -> Estimate | None:
    quantity = MAIN_QUANTITY[part.kind]
    return next((one for one in estimates if (one.name, one.quantity) == (name, quantity)), None)


def _value(estimate: Estimate, *, doubted: bool) -> dict[str, str]:
    exact = estimate.low >= estimate.high
    state = "doubtful" if doubted else "stated" if exact else "settled"
    if not estimate.determined and not exact:
        state = "open"
    if estimate.basis == NOT_READ:
        return {"value": "", "well": "", "state": "unread"}  # a belief is no value
    return {
        "value": show_plain(estimate.value, estimate.unit),
        "well": "" if exact else how_well(estimate),
        "state": state,
    }


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "message": one.message,
        "parts": list(one.parts),
        "explanations": [
            {
                "what": each.what,
                "change": each.change,
                "chance": "" if each.probability is None else _chance(each.probability),
            }
            for each in one.explanations[:3]
        ],
    }


def _chance(probability: float) -> str:
    return f"{probability * 100.0:.0f} %" if probability < 0.995 else "over 99 %"
