"""Where a doubt comes from, in a person's words, with what would lessen it.

The gain matrix carries every independent input (a reading's own error, an instrument's cause, a
belief) to every unknown. Whatever is a weighted sum of unknowns (an estimate at its frequency, a
feature of the behaviour pushed through its slopes) has its variance split by those inputs
(GUM 5.1.3), and as another view by the parts it goes through.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import log

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.bench.screens import Amplitude
from ohmbook.circuit.network import REFERENCE_HZ, Id
from ohmbook.documents.estimate import CauseGroup, CauseShare, Estimate
from ohmbook.evidence.unknown import Array

_REMEDY = {
    "gain": "read open and across on the same range, so that the scope's gain cancels",
    "step": "use the finest range that holds the trace",
    "series": "measure it with four wires, or with the leads' own resistance subtracted",
    "source": 'load the source with a resistor that you have measured (kind "source loading")',
    "loss": "read near the frequency where the value matters",
    "flatness": "read the open amplitude at every frequency",
    "noise": 'read the screen with the generator off (kind "generator off")',
    "lead": "clip the scope's ground where the source's ground is clipped",
    "open": "read the open amplitude again, on the finest range",
    "meter": "use a meter with finer digits, or four wires",
    "leads": "short the meter's clips and write down what it shows",
    "load": "measure the load resistor with a better meter",
    "value": "take a reading of it",
}
_WHAT = {"loss": "losses", "resistance": "series resistance"}


def shares(answer: Answer, estimate: Estimate) -> tuple[CauseShare, ...]:
    """Each cause's share of an estimate's variance, adding to 1, the largest first.

    Args:
        answer: the joint answer.
        estimate: whose doubt, at the frequency where it is reported.
    """
    one: Id = (estimate.name, estimate.quantity)
    if one not in answer.posterior.ids:
        return ()
    return cause_shares(answer, estimate_weights(answer, estimate), one)


def estimate_weights(answer: Answer, estimate: Estimate) -> dict[Id, float]:
    """What an estimate is made of: its own unknown, and its losses away from the reference."""
    one, loss = (estimate.name, estimate.quantity), (estimate.name, "loss")
    weights = {one: 1.0}
    if estimate.frequency_hz is not None and loss in answer.posterior.ids:
        weights[loss] = -log(estimate.frequency_hz / REFERENCE_HZ)
    return weights


def cause_shares(
    answer: Answer, weights: Mapping[Id, float], whose: Id | None = None
) -> tuple[CauseShare, ...]:
    """Each cause's share of the variance of a weighted sum of unknowns, the largest first.

    Args:
        answer: the joint answer.
        weights: for each unknown its factor, on its own scale.
        whose: the unknown whose own belief is called "what was believed before".
    """
    posterior = answer.posterior
    row = _row(answer, weights) @ posterior.gain
    variance = float(row @ row)
    if variance == 0.0:
        return ()
    reading_of = {one.label: one for one in answer.compiled.rows}
    found: dict[str, CauseShare] = {}
    for share, entry in zip(row**2 / variance, posterior.inputs, strict=True):
        if entry.id is None:
            read = reading_of[entry.label]
            on_screen = read.grid > 0.0 or isinstance(read.model, Amplitude)
            remedy = _REMEDY["step" if on_screen else "meter"]
            cause = CauseShare(f"read-out of {read.reading}", 0.0, remedy, "reading", read.reading)
        else:
            cause = _of_cause(answer, entry.id, whose)
        before = found.get(cause.cause, cause)
        found[cause.cause] = replace(before, share=before.share + float(share))
    return tuple(sorted(found.values(), key=lambda one: -one.share))


def part_shares(answer: Answer, weights: Mapping[Id, float]) -> tuple[CauseShare, ...]:
    """The variance of a weighted sum by the parts it goes through, the largest first.

    A part's share is the covariance of its own term with the sum, over the sum's variance: they
    add to 1, and one is below 0 where the part moves against the others.

    Args:
        answer: the joint answer.
        weights: for each unknown its factor, on its own scale.
    """
    terms = _row(answer, weights)
    along = answer.posterior.covariance @ terms
    variance = float(terms @ along)
    if variance <= 0.0:
        return ()
    found: dict[str, float] = {}
    for k, (owner, _) in enumerate(answer.posterior.ids):
        if terms[k]:
            found[owner] = found.get(owner, 0.0) + float(terms[k] * along[k]) / variance
    order = sorted(found, key=lambda owner: -found[owner])
    return tuple(CauseShare(name, found[name], group="belief", owner=name) for name in order)


def uncertainty(answer: Answer, weights: Mapping[Id, float]) -> float:
    """Standard uncertainty of a weighted sum of unknowns."""
    row = _row(answer, weights) @ answer.posterior.gain
    return float(np.sqrt(row @ row))


def _row(answer: Answer, weights: Mapping[Id, float]) -> Array:
    row = np.zeros(len(answer.posterior.ids))
    for one, weight in weights.items():
        row[answer.posterior.index(one)] += weight
    return row


def _of_cause(answer: Answer, one: Id, whose: Id | None) -> CauseShare:
    owner, quantity = one
    sheet = answer.compiled.sheet
    if owner in sheet.sources:
        if quantity == "resistance":
            words = f"{owner}'s output resistance as stated"
            return CauseShare(words, 0.0, _REMEDY["source"], "source", owner)
        key = "flatness" if quantity.startswith("flatness") else "open"
        words = f"{owner}'s {'flatness' if key == 'flatness' else quantity}"
        return CauseShare(words, 0.0, _REMEDY[key], "source", owner)
    if owner in sheet.instruments:
        return _of_instrument(owner, quantity)
    if owner in sheet.parts:
        return _of_part(answer, one, whose)
    group: CauseGroup = "circumstance"
    key = next((word for word in ("lead", "load") if word in owner), quantity)
    reading = next((r.name for r in sheet.readings if owner.split(": ")[0] == r.name), owner)
    words = _circumstance(owner, quantity)
    return CauseShare(words, 0.0, _REMEDY.get(key, ""), group, reading)


def _circumstance(owner: str, quantity: str) -> str:
    """ "load resistance of reading 1"; "resistance of scope's ground lead, set-up 1"."""
    reading, colon, what = owner.partition(": ")
    return f"{what} {quantity} of {reading}" if colon else f"{quantity} of {owner}"


def _of_instrument(owner: str, quantity: str) -> CauseShare:
    key = next((word for word in ("gain", "noise", "leads") if word in quantity), "step")
    words = "range gain" if " at " in quantity and key == "gain" else quantity
    words = "noise" if key == "noise" else words
    return CauseShare(f"{owner}'s {words}", 0.0, _REMEDY[key], "instrument", owner)


def _of_part(answer: Answer, one: Id, whose: Id | None) -> CauseShare:
    owner, quantity = one
    if one == whose:
        return CauseShare("what was believed before", 0.0, _REMEDY["value"], "belief", owner)
    alone = answer.kind(owner) in ("resistor", "driver")
    what = quantity if alone else _WHAT.get(quantity, quantity)
    key = "series" if what == "series resistance" else quantity
    remedy = _REMEDY["value"] if alone else _REMEDY.get(key, _REMEDY["value"])
    return CauseShare(f"what is believed of {owner}'s {what}", 0.0, remedy, "belief", owner)
