"""A reading being written: a board with it on, what is wrong with it, what would mend it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count, islice
from typing import Any

from ohmbook.bench.form import Form, FormField
from ohmbook.counsel.mistakes import MISTAKES
from ohmbook.counsel.sites import Site
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.reference import Key
from ohmbook.errors import OhmbookError
from ohmbook.job.forms import UNIT_KEYS, Plain
from ohmbook.sheet.build import Kinds, build
from ohmbook.sheet.fill import named
from ohmbook.sheet.lines import Lines
from ohmbook.sheet.names import one_name_space, part_names
from ohmbook.sheet.read import bench_kinds, reading_problems
from ohmbook.sheet.waiting import without_waiting
from ohmbook.units.parse import parse_quantity

SECTIONS = ("parts", "sources", "instruments")
MENDS = 3
"""Ways to mend a number that are offered at most."""

_TRIED = 24


@dataclass(frozen=True, slots=True)
class Draft:
    """A reading being written, with what is to be written beside it.

    Args:
        reading: its plain values, as a sheet has them.
        beside: new parts, sources and instruments by section and name.
        revises: the name of the reading whose place it takes; "" for a new one.
    """

    reading: Plain
    beside: Mapping[str, Mapping[str, Plain]]
    revises: str = ""


@dataclass(frozen=True, slots=True)
class Fix:
    """Something else at a place, one touch away.

    Args:
        words: what it would be.
        place: the field, and what is within it: a name, or a table's row and column.
        text: what is put there; "" takes a name out of a list.
        probability: where the readings weigh it.
    """

    words: str
    place: Key
    text: str
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong at one place of a draft.

    Args:
        place: as of a fix; a section, a name and a field for what is written beside.
        message: what was found and what was expected.
        short: the same for beside its field, where what is expected stands already.
        blank: nothing stands there yet, so that it is only still wanted.
        fixes: what would mend it.
    """

    place: Key
    message: str
    short: str = ""
    blank: bool = False
    fixes: tuple[Fix, ...] = ()


@dataclass(frozen=True)
class Laid:
    """A board with a draft on it.

    Args:
        raw: plain values, every reading with its name.
        name: the draft's.
        kinds: the reading kinds there are.
    """

    raw: Plain
    name: str
    kinds: Kinds

    @property
    def reading(self) -> Plain:
        """The draft's own values."""
        found: Plain = next(one for one in self.raw["readings"] if one["name"] == self.name)
        return found

    def with_text(self, place: Key, text: str) -> Laid:
        """The same with something else at a place of the draft."""
        changed = {**self.reading}
        if len(place) == 1:
            changed[str(place[0])] = text
        else:
            changed[str(place[0])] = {**changed[str(place[0])], place[1]: text}
        readings = [changed if one["name"] == self.name else one for one in self.raw["readings"]]
        return Laid({**self.raw, "readings": readings}, self.name, self.kinds)


def laid(raw: Plain, names: Sequence[str], draft: Draft, kinds: Kinds | None = None) -> Laid:
    """A board with a draft put on it.

    Args:
        raw: the board's plain values.
        names: what its readings are called, in order.
        draft: what is written.
        kinds: the reading kinds there are.
    """
    readings = [{**one, "name": n} for one, n in zip(raw.get("readings", []), names, strict=True)]
    given = _called(draft, names)
    own = {**{k: v for k, v in draft.reading.items() if k != "struck"}, "name": given}
    if draft.revises in names:
        readings[list(names).index(draft.revises)] = own
    else:
        readings.append(own)
    held = {one: {**raw.get(one, {}), **draft.beside.get(one, {})} for one in SECTIONS}
    there = {section: value for section, value in held.items() if value}
    return Laid({**raw, **there, "readings": readings}, given, kinds or bench_kinds())


def _called(draft: Draft, names: Sequence[str]) -> str:
    name = draft.reading.get("name")
    own = name if isinstance(name, str) and name not in {*names} - {draft.revises} else ""
    return own or draft.revises or _free(names, len(names))


def _free(names: Sequence[str], so_many: int) -> str:
    return next(name for k in count(so_many + 1) if (name := f"reading {k}") not in names)


def problems(on: Laid) -> list[Problem]:
    """What is wrong with a draft, each problem's key from the reading or the section down."""
    left, _, _ = without_waiting(on.raw, Lines({}, {}))
    place = _place_of(left.get("readings", []), on.name)
    if place is None:
        return [Problem(("kind",), 'a number is still to be read ("?" stands in its place)')]
    sheet, found = build(left, on.kinds)
    wrong = [own for one in found if (own := _own(one, place)) is not None]
    return wrong or list(_crosswise(named(sheet), on.name))


def _crosswise(draft: Sheet, name: str) -> Iterator[Problem]:
    """What is wrong with a draft beside all the rest."""
    index = next(k for k, one in enumerate(draft.readings) if one.name == name)
    for one in (*part_names(draft), *one_name_space(draft)):
        yield one
    for one in reading_problems(draft):
        own = _own(one, index)
        if own is not None:
            yield own


def _own(problem: Problem, place: int | None) -> Problem | None:
    """A problem of the draft, or of what is written beside it; None where it is another's."""
    key = problem.key
    if key[:1] != ("readings",):
        return problem if key[:1] and key[0] in SECTIONS else None
    if place is None or key[:2] != ("readings", place):
        return None
    return Problem(key[2:], problem.message, problem.row, problem.column)


def _place_of(readings: Sequence[Plain], name: str) -> int | None:
    return next((k for k, one in enumerate(readings) if one.get("name") == name), None)


def faults(on: Laid, form: Form) -> tuple[Fault, ...]:
    """What is wrong with a draft, with what would mend it."""
    return tuple(_fault(on, form, one) for one in problems(on))


def _fault(on: Laid, form: Form, problem: Problem) -> Fault:
    place = problem.key
    if problem.row is not None:
        place = (*place, problem.row, problem.column or "")
    beside = place[:1] and place[0] in SECTIONS
    written = _written(on.raw, place) if beside else _written(on.reading, place)
    field = form.field(str(place[0])) if place else None
    return Fault(
        place,
        problem.message,
        _short(problem.message),
        written in (None, "", {}, []) if place != ("kind",) else not _any_result(on, form),
        tuple(islice(_mends(on, field, place), MENDS)) if isinstance(written, str) else (),
    )


def _short(message: str) -> str:
    """Without what was typed, which stands above it, and without what was expected."""
    found = message.partition("; expected")[0]
    typed, colon, why = found.partition('": ')
    return why if colon and typed[:1] == '"' and typed.count('"') == 1 else found


def _any_result(on: Laid, form: Form) -> bool:
    return any(on.reading.get(one.name) for one in form.fields if one.result)


def _written(held: Any, place: Key) -> Any:
    for step in place[:3] if place[:1] and place[0] in SECTIONS else place[:2]:
        if not isinstance(held, Mapping):
            return held
        held = held.get(str(step))
    return held


def _mends(on: Laid, field: FormField | None, place: Key) -> Iterator[Fix]:
    """Numbers with which nothing is wrong there any more, the likeliest mistake first."""
    if field is None or field.unit is None or len(place) > 2 or field.what == "table":
        return
    text = str(_written(on.reading, place))
    told: set[str] = set()
    for other in islice(_others(field, text), _TRIED):
        if other not in told and not _still_wrong(on.with_text(place, other), place):
            told.add(other)
            yield Fix(other, place, other)


def _others(field: FormField, text: str) -> Iterator[str]:
    """What may have been meant: the unit left out, or one of the usual mistakes."""
    assert field.unit is not None
    plain = text.strip().replace(",", ".")
    if plain and set(plain) <= set("0123456789."):
        yield from (f"{plain} {unit}" for unit in UNIT_KEYS.get(field.unit, ()))
        return
    site = Site(("readings", 0), (field.name,), "quantity", text, field.unit)
    ways = [
        (mistake.odds * way.share, way.text)
        for mistake in MISTAKES
        if mistake.scales
        for way in mistake.ways(site)
    ]
    yield from (way for _, way in sorted(ways, key=lambda one: -one[0]) if _sound(way, field))


def _sound(text: str, field: FormField) -> bool:
    assert field.unit is not None
    try:
        parse_quantity(text, field.unit)
    except OhmbookError:
        return False
    return True


def _still_wrong(on: Laid, place: Key) -> bool:
    return any(one.key[: len(place)] == place for one in problems(on))
