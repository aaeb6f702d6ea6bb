"""What is wanted, from the names a person gives: parts, sources, features of the behaviour."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ohmbook.bench.estimates import Answer
from ohmbook.circuit.network import Id
from ohmbook.counsel.aims import WITHIN, Aim, Target
from ohmbook.crossover.behaviour import behave
from ohmbook.crossover.leaning import Leaning, leanings
from ohmbook.crossover.wiring import crossover_network, fixed_values, output_names
from ohmbook.documents.part import MAIN_QUANTITY
from ohmbook.errors import CallError, CircuitError

_DB = 8.685889638065035
"""Decibels in one neper of amplitude: 20 / ln 10."""


def aim_at(answer: Answer, names: Sequence[str] = (), within: float = WITHIN) -> Aim:
    """What is wanted: every part's main value, or what is named.

    Args:
        answer: the joint answer so far.
        names: parts, sources, or features of the behaviour by some of their words ("cross").
        within: half a 95 % interval, relative, that is good enough.

    Raises:
        CallError: no part, source or feature is called that.
    """
    if not 0.0 < within < 1.0:
        raise CallError(f"A tolerance of {within:g} was asked for; expected one such as 0.05.")
    if not names:
        return Aim(tuple(_parts(answer)), within)
    return Aim(tuple(one for name in names for one in _named(answer, name)), within)


def _parts(answer: Answer) -> Iterator[Target]:
    """Every part but the drivers, which are no part of the board."""
    for name, part in answer.compiled.sheet.parts.items():
        one = (name, MAIN_QUANTITY[part.kind])
        if part.kind != "driver" and one in answer.posterior.ids:
            yield Target(*one, one=one)


def _named(answer: Answer, name: str) -> Iterator[Target]:
    sheet = answer.compiled.sheet
    if name in sheet.parts or name in sheet.sources:
        part = sheet.parts.get(name)
        one = (name, "resistance" if part is None else MAIN_QUANTITY[part.kind])
        if one in answer.posterior.ids:
            yield Target(*one, one=one)
        return
    here = {one: value for one in answer.posterior.ids if (value := answer.value(one)) is not None}
    features = _features(answer, here)
    found = [one for one in features if name.casefold() in one.feature.casefold()]
    if not found:
        known = ", ".join([*sheet.parts, *sheet.sources, *(one.feature for one in features)])
        raise CallError(
            f'Nothing is called "{name}"; what can be wanted is {known or "nothing yet"}.'
        )
    yield from (_feature(answer, one) for one in found)


def _feature(answer: Answer, leaning: Leaning) -> Target:
    def slopes(values: Mapping[Id, float]) -> Mapping[Id, float] | None:
        found = (one for one in _features(answer, values) if one.feature == leaning.feature)
        same = next(found, None)
        if same is None:
            return None
        scale = 1.0 / _DB if same.unit == "dB" else 1.0
        return {
            one: slope * scale * _by_scale(answer, one, values)
            for one, slope in same.slopes.items()
        }

    quantity = {"Hz": "frequency", "ohm": "resistance", "dB": "level"}[leaning.unit]
    return Target(leaning.feature, quantity, slopes=slopes)


def _by_scale(answer: Answer, one: Id, values: Mapping[Id, float]) -> float:
    """From a slope by ln p (by itself for a loss) to one on the unknown's own scale."""
    if one not in answer.posterior.ids or one not in values:
        return 0.0
    scale = answer.posterior.unknowns[answer.posterior.index(one)].scale
    if scale == "log" or one[1] == "loss":
        return 1.0
    return 1.0 - values[one] if scale == "logit" else 1.0 / values[one]


def _features(answer: Answer, values: Mapping[Id, float]) -> tuple[Leaning, ...]:
    """The features of the behaviour at some values, with their slopes; none without a sketch."""
    sketch, parts = answer.compiled.sheet.sketch, answer.compiled.sheet.parts
    try:
        network = crossover_network(sketch, parts)
        fixed = fixed_values(sketch, parts)
        known = {**answer.compiled.constants, **values, **fixed}
        here = {one: known[one] for one in network.ids if one in known}
        shown = behave(network, output_names(sketch, parts), here, None, None)
        found = leanings(network, here, shown)
    except CircuitError:
        return ()
    return tuple(
        Leaning(one.feature, one.value, one.unit, _kept(one.slopes, fixed)) for one in found
    )


def _kept(slopes: Mapping[Id, float], fixed: Mapping[Id, float]) -> dict[Id, float]:
    return {one: slope for one, slope in slopes.items() if one not in fixed}
