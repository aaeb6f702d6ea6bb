"""Checks across a sheet: a list of pure functions, each yielding problems with their key.

They run on a draft in which every document is sound by itself and every reading has a name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from ohmbook.bench.likes import problem_with
from ohmbook.documents.fields import ReadingName
from ohmbook.documents.reading import Problem, ReadingBase, Sheet
from ohmbook.documents.reference import Key, Noun, Reference, references
from ohmbook.sheet import board
from ohmbook.sheet.fill import able_instruments, instrument_for, nodes_of, source_for
from ohmbook.sheet.near import quoted, suggestion
from ohmbook.units.quantity import Quantity

Check = Callable[[Sheet], Iterable[Problem]]

_GROUPS: dict[Noun, str] = {
    "part": "parts",
    "node": "nodes",
    "source": "sources",
    "instrument": "instruments",
    "reading": "named readings",
}


def part_names(sheet: Sheet) -> Iterator[Problem]:
    """Names of parts, sources and instruments can be told apart, typed and printed."""
    for group in ("parts", "sources", "instruments"):
        for name in getattr(sheet, group):
            if why := _bad_name(name):
                yield Problem((group, name), f'"{name}" cannot be a name: {why}')
            elif group == "parts" and "." in name:
                yield Problem(
                    (group, name),
                    f"\"{name}\" cannot be a part's name: a dot tells a part's end (C1.1)",
                )


def one_name_space(sheet: Sheet) -> Iterator[Problem]:
    """No source is called like a part."""
    for name in sheet.sources:
        if name in sheet.parts:
            yield Problem(
                ("sources", name),
                f'"{name}" is a part as well as a source; expected two names, since results are '
                "told by name",
            )


def node_names(sheet: Sheet) -> Iterator[Problem]:
    """Names of nodes can be typed and printed."""
    for part, pair in nodes_of(sheet).items():
        for node in pair:
            if why := _bad_name(node):
                yield Problem(("parts", part, "between"), f'"{node}" cannot be a node: {why}')


def reading_names(sheet: Sheet) -> Iterator[Problem]:
    """No two readings have one name."""
    first: dict[str, int] = {}
    for index, reading in enumerate(sheet.readings):
        key: Key = ("readings", index, "name")
        if why := _bad_name(reading.name):
            yield Problem(key, f'"{reading.name}" cannot be a name: {why}')
        if reading.name in first:
            yield Problem(
                key,
                f'"{reading.name}" is the name of reading {first[reading.name] + 1} as well; '
                "expected a name of its own, or none",
            )
        first.setdefault(reading.name, index)


def one_value(sheet: Sheet) -> Iterator[Problem]:
    """A part states its value or what it is made of, not both."""
    for name, part in sheet.parts.items():
        made = getattr(part, "made_of", None)
        if made is not None and part.stated is not None:
            yield Problem(
                ("parts", name, "made_of"),
                'made_of and value both tell the value; expected one of them (made_of = ["47 uF", '
                '"47 uF"] is what the part is put together from)',
            )
        elif made == ():
            yield Problem(("parts", name, "made_of"), "made_of is empty; expected its pieces")


def known_names(sheet: Sheet) -> Iterator[Problem]:
    """Whatever is named exists."""
    known = _known(sheet)
    for key, ref in _references(sheet):
        yield from _unknown(key, ref, known)


def no_circles(sheet: Sheet) -> Iterator[Problem]:
    """No reading takes a quantity from itself, directly or through others."""
    taken = {one.name: _taken(one) for one in sheet.readings}
    for index, reading in enumerate(sheet.readings):
        for ref in reading.references():
            if ref.noun == "reading" and reading.name in _followed(ref.name, taken):
                own = "itself" if ref.name == reading.name else f"itself, by way of @{ref.name}"
                yield Problem(("readings", index, *ref.key), f"the reading refers to {own}")


def chosen_sources(sheet: Sheet) -> Iterator[Problem]:
    """Each reading that needs a source has one."""
    for index, reading in enumerate(sheet.readings):
        if not reading.uses_source or source_for(sheet, reading) is not None:
            continue
        why = f"the sheet has several ({quoted(sheet.sources)})"
        wanted = 'expected source = "..." here, or under [defaults]'
        if not sheet.sources:
            why = "the sheet has none"
            wanted = 'write [sources.generator] with, say, resistance = "50 ohm ± 5 %"'
        yield Problem(
            ("readings", index),
            f'a reading of kind "{reading.kind}" needs a source, and {why}; {wanted}',
        )


def chosen_instruments(sheet: Sheet) -> Iterator[Problem]:
    """Each reading has an instrument that can take it, as far as the sheet has any."""
    for index, reading in enumerate(sheet.readings):
        able = able_instruments(sheet, reading)
        stated = sheet.instruments.get(reading.instrument or "")
        if stated is not None and reading.instrument not in able:
            yield Problem(
                ("readings", index, "instrument"),
                f'"{reading.instrument}" is of kind "{stated.kind}", which cannot take a reading '
                f'of kind "{reading.kind}"; expected {_kinds_wanted(reading)}',
            )
        elif len(able) > 1 and instrument_for(sheet, reading) is None:
            yield Problem(
                ("readings", index),
                f"several instruments could have taken this reading ({quoted(able)}); "
                'expected instrument = "..." here, or under [defaults]',
            )


def known_likes(sheet: Sheet) -> Iterator[Problem]:
    """`like` names a starting point that exists."""
    for group in ("instruments", "sources"):
        for name, thing in getattr(sheet, group).items():
            if why := problem_with(thing):
                yield Problem((group, name, "like"), why)


def clear_quantities(sheet: Sheet) -> Iterator[Problem]:
    """No quantity reads like the name of a part ("47R" where a part is called so)."""
    for index, reading in enumerate(sheet.readings):
        for field in type(reading).model_fields:
            value = getattr(reading, field)
            if isinstance(value, Quantity) and value.text.strip() in sheet.parts:
                yield Problem(
                    ("readings", index, field),
                    f'"{value.text}" is a quantity and the name of a part as well; expected '
                    "another name for the part, one that begins with a letter",
                )


CHECKS: tuple[Check, ...] = (
    part_names,
    one_name_space,
    node_names,
    reading_names,
    one_value,
    known_likes,
    board.sketched_parts,
    board.ends_apart,
    board.sketched_nodes,
    board.input_apart,
    board.dangling_nodes,
    board.hanging_parts,
    known_names,
    no_circles,
    chosen_sources,
    chosen_instruments,
    clear_quantities,
)


def check_sheet(sheet: Sheet) -> list[Problem]:
    """Everything that is wrong across a draft."""
    return [problem for check in CHECKS for problem in check(sheet)]


def _bad_name(name: str) -> str | None:
    if not name.strip():
        return "it is empty"
    if name != name.strip():
        return "it begins or ends with a space"
    if not name.isprintable():
        return "it holds characters that cannot be printed"
    return "it begins with @, which refers to a reading" if name.startswith("@") else None


def _references(sheet: Sheet) -> Iterator[tuple[Key, Reference]]:
    for ref in references(sheet.defaults):
        yield ("defaults", *ref.key), ref
    for name, source in sheet.sources.items():
        if isinstance(source.open, ReadingName):
            yield ("sources", name, "open"), Reference(("open",), "reading", source.open[1:])
    for index, reading in enumerate(sheet.readings):
        for ref in reading.references():
            yield ("readings", index, *ref.key), ref


def _known(sheet: Sheet) -> dict[Noun, list[str]]:
    nodes = dict.fromkeys(node for pair in nodes_of(sheet).values() for node in pair)
    return {
        "part": list(sheet.parts),
        "node": list(nodes),
        "source": list(sheet.sources),
        "instrument": list(sheet.instruments),
        "reading": [one.name for one in sheet.readings],
    }


def _unknown(key: Key, ref: Reference, known: dict[Noun, list[str]]) -> Iterator[Problem]:
    noun, name = ref.noun, ref.name
    if noun == "part end":
        noun, name, end = "part", *_split_end(ref.name)
        if end not in ("1", "2"):
            yield Problem(
                key,
                f'"{ref.name}" is not the end of a part; expected a part, a dot and 1 or 2 for '
                "the first or second of its nodes, such as C1.1",
            )
            return
    if name not in known[noun]:
        none = f"the sheet has no {_GROUPS[noun]}"
        yield Problem(key, f'unknown {noun} "{name}"; {suggestion(name, known[noun], none)}')


def _split_end(text: str) -> tuple[str, str]:
    name, _, end = text.rpartition(".")
    return name, end


def _taken(reading: ReadingBase) -> list[str]:
    return [ref.name for ref in reading.references() if ref.noun == "reading"]


def _followed(name: str, taken: dict[str, list[str]]) -> set[str]:
    seen: set[str] = set()
    waiting = [name]
    while waiting:
        one = waiting.pop()
        if one not in seen:
            seen.add(one)
            waiting += taken.get(one, ())
    return seen


def _kinds_wanted(reading: ReadingBase) -> str:
    kinds = reading.instrument_kinds
    return f"one of kind {' or '.join(kinds)}" if kinds else "no instrument"
