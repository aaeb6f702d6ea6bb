"""What is wanted, from the names a person gives: parts, sources, features of the behaviour."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from math import log

from ohmbook.bench.estimates import Answer
from ohmbook.circuit.network import Id, Network
from ohmbook.counsel.aims import WITHIN, Aim, Target
from ohmbook.crossover.behaviour import behave
from ohmbook.crossover.leaning import Leaning, leanings
from ohmbook.crossover.wiring import crossover_network, fixed_values, output_names
from ohmbook.documents.part import MAIN_QUANTITY, PartKind
from ohmbook.errors import CallError, CircuitError

GROUPS: dict[str, PartKind] = {
    "coils": "inductor",
    "capacitors": "capacitor",
    "resistors": "resistor",
}
"""All parts of a kind, by one word."""
DB = 20.0 / log(10.0)
"""Decibels in one neper of amplitude."""
LEVELS_HZ = (50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 3000.0, 5000.0, 10000.0, 20000.0)
"""Where an output's curve is held to what is asked: "woofer's level at 1.0 kHz"."""


def aim_at(answer: Answer, names: Sequence[str] = (), within: float = WITHIN) -> Aim:
    """What is wanted: every part's main value, or what is named.

    Args:
        answer: the joint answer so far.
        names: parts, "coils", "capacitors", "resistors", sources, or features of the behaviour by
            some of their words ("cross").
        within: half a 95 % interval, relative, that is good enough.

    Raises:
        CallError: no part, source or feature is called that.
    """
    if not 0.0 < within < 1.0:
        raise CallError(f"A tolerance of {within:g} was asked for; expected one such as 0.05.")
    if not names:
        return Aim(tuple(_parts(answer)), within)
    return Aim(tuple(one for name in names for one in _named(answer, name)), within)


def feature_names(answer: Answer) -> tuple[str, ...]:
    """What of the behaviour can be wanted; nothing where the sketch has no outputs yet.

    Args:
        answer: the joint answer so far.
    """
    here = {one: value for one in answer.posterior.ids if (value := answer.value(one)) is not None}
    return tuple(one.feature for one in _Features(answer).at(here))


def _parts(answer: Answer) -> Iterator[Target]:
    """Every part but the drivers, which are no part of the board."""
    for name, part in answer.compiled.sheet.parts.items():
        one = (name, MAIN_QUANTITY[part.kind])
        if part.kind != "driver" and one in answer.posterior.ids:
            yield Target(*one, one=one)


def _named(answer: Answer, name: str) -> Iterator[Target]:
    sheet = answer.compiled.sheet
    if name not in sheet.parts and name in GROUPS:
        yield from (one for one in _parts(answer) if sheet.parts[one.name].kind == GROUPS[name])
        return
    if name in sheet.parts or name in sheet.sources:
        part = sheet.parts.get(name)
        one = (name, "resistance" if part is None else MAIN_QUANTITY[part.kind])
        if one in answer.posterior.ids:
            yield Target(*one, one=one)
        return
    here = {one: value for one in answer.posterior.ids if (value := answer.value(one)) is not None}
    features = _Features(answer)
    every = features.at(here)
    found = [one for one in every if name.casefold() in one.feature.casefold()]
    if not found:
        groups = GROUPS if sheet.parts else ()
        told = [*sheet.parts, *sheet.sources, *groups, *(one.feature for one in every)]
        known = ", ".join(told) or "nothing yet"
        raise CallError(f'Nothing is called "{name}"; what can be wanted is {known}.')
    yield from (_target(features, one) for one in found)


def _target(features: _Features, leaning: Leaning) -> Target:
    quantity = {"Hz": "frequency", "ohm": "resistance", "dB": "level"}[leaning.unit]
    return Target(leaning.feature, quantity, slopes=partial(features.slopes, leaning.feature))


class _Features:
    """The features of the behaviour at any values, with their slopes; each guess's kept."""

    def __init__(self, answer: Answer) -> None:
        self.answer, self._kept = answer, dict[tuple[float, ...], dict[str, Leaning]]()
        sketch, parts = answer.compiled.sheet.sketch, answer.compiled.sheet.parts
        self.network = self.fixed = None
        try:
            self.network = crossover_network(sketch, parts)
            self.fixed = fixed_values(sketch, parts)
            self.outputs = output_names(sketch, parts)
        except CircuitError:
            return

    def at(self, values: Mapping[Id, float]) -> Sequence[Leaning]:
        """Every feature at some values; none without a whole crossover."""
        return tuple(self._by_name(values).values())

    def slopes(self, name: str, values: Mapping[Id, float]) -> Mapping[Id, float] | None:
        """ln of a feature by the unknowns' coordinates; None where there is none such."""
        same = self._by_name(values).get(name)
        if same is None:
            return None
        scale = 1.0 / DB if same.unit == "dB" else 1.0
        return {
            one: slope * scale * _by_scale(self.answer, one, values)
            for one, slope in same.slopes.items()
            if one not in (self.fixed or {})
        }

    def _by_name(self, values: Mapping[Id, float]) -> dict[str, Leaning]:
        if self.network is None or self.fixed is None:
            return {}
        known = {**self.answer.compiled.constants, **values, **self.fixed}
        here = {one: float(known[one]) for one in self.network.ids if one in known}
        key = tuple(here.values())
        if key not in self._kept:
            self._kept[key] = self._worked_out(self.network, here)
        return self._kept[key]

    def _worked_out(self, network: Network, here: Mapping[Id, float]) -> dict[str, Leaning]:
        try:
            shown = behave(network, self.outputs, here, None, None)
            found = leanings(network, here, shown, LEVELS_HZ)
        except CircuitError:
            return {}
        return {one.feature: one for one in found}


def _by_scale(answer: Answer, one: Id, values: Mapping[Id, float]) -> float:
    """From a slope by ln p (by itself for a loss) to one on the unknown's own scale."""
    if one not in answer.posterior.ids or one not in values:
        return 0.0
    scale = answer.posterior.unknowns[answer.posterior.index(one)].scale
    if scale == "log" or one[1] == "loss":
        return 1.0
    return 1.0 - values[one] if scale == "logit" else 1.0 / values[one]
