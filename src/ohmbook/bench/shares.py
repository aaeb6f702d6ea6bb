"""Where an estimate's doubt comes from, in a person's words, with what would lessen it."""

from __future__ import annotations

from math import log

import numpy as np

from ohmbook.bench.estimates import Answer
from ohmbook.bench.screens import Amplitude
from ohmbook.circuit.network import REFERENCE_HZ, Id
from ohmbook.documents.estimate import CauseShare, Estimate

_REMEDY = {
    "gain": "read open and across on the same range, so that the scope's gain cancels",
    "step": "use the finest range that holds the trace",
    "resistance": "measure it with four wires, or with the leads' own resistance subtracted",
    "source": 'load the source with a resistor that you have measured (kind "source loading")',
    "loss": "read near the frequency where the value matters",
    "flatness": "read the open amplitude at every frequency",
    "noise": 'read the screen with the generator off (kind "generator off")',
    "lead": "clip the scope's ground where the source's ground is clipped",
    "open": "read the open amplitude again, on the finest range",
    "meter": "use a meter with finer digits, or four wires",
    "leads": "short the meter's clips and write down what it shows",
    "load": "measure the load resistor with a better meter",
}


def shares(answer: Answer, estimate: Estimate) -> tuple[CauseShare, ...]:
    """Each cause's share of an estimate's variance, adding to 1, the largest first.

    Args:
        answer: the joint answer.
        estimate: whose doubt, at the frequency where it is reported.
    """
    one: Id = (estimate.name, estimate.quantity)
    posterior = answer.posterior
    if one not in posterior.ids:
        return ()
    row = posterior.gain[posterior.index(one)].copy()
    loss = (one[0], "loss")
    if estimate.frequency_hz is not None and loss in posterior.ids:
        row = (
            row - log(estimate.frequency_hz / REFERENCE_HZ) * posterior.gain[posterior.index(loss)]
        )
    parts = row**2 / float(row @ row)
    grouped: dict[str, tuple[float, str]] = {}
    for share, entry in zip(parts, posterior.inputs, strict=True):
        cause, remedy = (
            _of_reading(answer, entry.label)
            if entry.id is None
            else _of_cause(answer, estimate, entry.id)
        )
        grouped[cause] = (grouped.get(cause, (0.0, ""))[0] + float(share), remedy)
    found = [CauseShare(cause, share, remedy) for cause, (share, remedy) in grouped.items()]
    order = np.argsort([-one.share for one in found], kind="stable")
    return tuple(found[k] for k in order)


def _of_reading(answer: Answer, label: str) -> tuple[str, str]:
    row = next(row for row in answer.compiled.rows if row.label == label)
    on_screen = row.grid > 0.0 or isinstance(row.model, Amplitude)
    return f"read-out of {row.reading}", _REMEDY["step" if on_screen else "meter"]


def _of_cause(answer: Answer, estimate: Estimate, one: Id) -> tuple[str, str]:
    owner, quantity = one
    sheet = answer.compiled.sheet
    if owner in sheet.sources:
        if quantity == "resistance":
            return f"{owner}'s output resistance as stated", _REMEDY["source"]
        key = "flatness" if quantity.startswith("flatness") else "open"
        words = "flatness" if key == "flatness" else quantity
        return f"{owner}'s {words}", _REMEDY[key]
    if owner in sheet.instruments:
        key = next((word for word in ("gain", "noise", "leads") if word in quantity), "step")
        words = "range gain" if " at " in quantity and key == "gain" else quantity
        return f"{owner}'s {words}", _REMEDY[key]
    if owner in sheet.parts:
        own = owner == estimate.name
        what = {"loss": "losses", "resistance": "series resistance"}.get(quantity, quantity)
        if own and quantity == estimate.quantity:
            return "what was believed before", "take a reading of it"
        return f"what is believed of {owner}'s {what}", _REMEDY.get(quantity, "")
    key = next((word for word in ("lead", "load") if word in owner), quantity)
    return f"{owner} {quantity}", _REMEDY.get(key, "")
