"""From splits to meanings: weigh every way to read every part, merge, and rank."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from ohmbook.units.marking.dates import date_words
from ohmbook.units.marking.fields import Before, Field, FieldName
from ohmbook.units.marking.meaning import KINDS, Meaning, PartKindName
from ohmbook.units.marking.tolerance import Marked, in_words, letter_meanings
from ohmbook.units.marking.values import Value
from ohmbook.units.marking.weights import (
    BARE_FORMS,
    DATE,
    OTHER,
    OTHER_DIGITS_WITH_MORE,
    SUITS,
    WRONG_KIND,
    Factor,
    Form,
    in_band,
    preferred,
)

_MOST_MEANINGS = 12
_LEAST_PROBABILITY = 1e-4  # below this a meaning is left to "something else"


@dataclass(frozen=True, slots=True)
class _Reading:
    """One value with everything beside it; `meaning` has no probability yet."""

    meaning: Meaning
    weight: float
    form: Form
    alone: bool  # nothing stands beside the value


def rank(ways: Iterable[Before], text: str, kind: PartKindName | None) -> tuple[Meaning, ...]:
    """The meanings of a marking, most probable first.

    Args:
        ways: its splits into fields.
        text: the marking, cleaned.
        kind: the kind of part, or None where all kinds compete.
    """
    best: dict[object, _Reading] = {}
    weights: dict[object, float] = {}
    for reading in (one for way in ways for one in _readings(way, kind)):
        key = _key(reading.meaning)
        weights[key] = weights.get(key, 0.0) + reading.weight
        if key not in best or reading.weight > best[key].weight:
            best[key] = reading
    if not best:
        return ()
    date = date_words(text)
    total = sum(weights.values()) + _other(max(best.values(), key=_weight), date, kind)
    ordered = sorted(best, key=lambda key: -weights[key])[:_MOST_MEANINGS]
    shares = [(best[key], weights[key] / total) for key in ordered]
    return tuple(
        _with(reading, share, date) for reading, share in shares if share >= _LEAST_PROBABILITY
    )


def _weight(reading: _Reading) -> float:
    return reading.weight


def _key(meaning: Meaning) -> object:
    return replace(meaning, reading="", reasons=())


def _other(best: _Reading, date: str | None, kind: PartKindName | None) -> float:
    """What "something else" weighs: it depends on how the most likely value is written."""
    if best.form not in BARE_FORMS:
        return OTHER[best.form]
    alone = OTHER["digits"] if best.alone else OTHER_DIGITS_WITH_MORE
    return alone + (DATE[kind] if date else 0.0)


def _with(reading: _Reading, probability: float, date: str | None) -> Meaning:
    reasons = reading.meaning.reasons
    if date and reading.form in BARE_FORMS:
        reasons = (*reasons, f"it may be a date ({date}), not a value")
    return replace(reading.meaning, probability=probability, reasons=reasons)


def _readings(way: Before, kind: PartKindName | None) -> Iterator[_Reading]:
    fields = {field.name: field for field in way}
    for value in fields["value"].values:
        if kind in (None, value.kind):
            alone = kind is None and _alone(way, "letter")
            for marked in _tolerances(fields, value, alone):
                yield _reading(way, value, marked)


def _alone(way: Before, *names: FieldName) -> bool:
    """Whether nothing but these fields is there, and words that say nothing."""
    return all(field.name in ("value", "word", "date", *names) for field in way)


def _tolerances(fields: Mapping[FieldName, Field], value: Value, alone: bool) -> tuple[Marked, ...]:
    """What the tolerance may be; nothing where two statements of it disagree."""
    letter, percent = fields.get("letter"), fields.get("percent")
    marks: tuple[Marked, ...] = (Marked(value.tolerance, "", Factor(1.0)),)
    if letter is not None:
        marks = letter_meanings(letter.text, value, alone)
    if letter is not None and value.tolerance is not None:
        marks = tuple(mark for mark in marks if mark.tolerance == value.tolerance)
    if percent is None or percent.tolerance is None:
        return marks
    words = in_words(percent.tolerance) if value.tolerance is None else ""
    agreeing = [mark for mark in marks if mark.tolerance in (None, percent.tolerance)]
    return tuple(Marked(percent.tolerance, words, mark.factor) for mark in agreeing)


def _reading(way: Before, value: Value, marked: Marked) -> _Reading:
    factors = [
        *value.factors,
        preferred(value.kind, value.number, value.figures),
        in_band(value.kind, value.number.value),
        marked.factor,
        *(_suits(field, value.kind) for field in way),
    ]
    return _Reading(
        _meaning(way, value, marked, tuple(dict.fromkeys(one.why for one in factors if one.why))),
        math.prod(one.weight for one in factors),
        value.form,
        _alone(way),
    )


def _suits(field: Field, kind: PartKindName) -> Factor:
    """How a field beside the value suits a kind of part."""
    if field.name == "word":
        return Factor(field.weight, f'"{field.text}" is not read')
    if field.name == "hint":
        weight = 1.0 if field.kind == kind else WRONG_KIND
        return Factor(weight, f'"{field.text}" names the kind of part')
    if field.name not in SUITS:
        return Factor(field.weight)
    suits = SUITS[field.name]
    usual = max(KINDS, key=suits.__getitem__)
    return Factor(suits[kind] * field.weight, f'"{field.text}" is marked, as on {usual}s')


def _meaning(way: Before, value: Value, marked: Marked, reasons: tuple[str, ...]) -> Meaning:
    fields = {field.name: field for field in way}
    volts, watts = fields.get("volts"), fields.get("watts")
    said = [value.how, marked.words]
    if volts:
        said.append(f"{volts.amount:g} V{f' {volts.current}' if volts.current else ''}")
    if watts:
        said.append(f"{watts.amount:g} W")
    if "bipolar" in fields:
        said.append("bipolar")
    return Meaning(
        kind=value.kind,
        value=value.number.value,
        tolerance=marked.tolerance,
        probability=0.0,
        reading="; ".join(part for part in said if part),
        reasons=reasons,
        volts=volts.amount if volts else None,
        volts_kind=volts.current if volts else None,
        watts=watts.amount if watts else None,
        bipolar="bipolar" in fields,
    )
