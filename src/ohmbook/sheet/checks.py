"""Checks across a sheet: a list of pure functions, each yielding problems with their key.

They run on a draft in which every document is sound by itself and every reading has a name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from ohmbook.bench.likes import problem_with
from ohmbook.documents.reading import Problem, ReadingBase, Sheet
from ohmbook.sheet import board, names, referring
from ohmbook.sheet.fill import able_instruments, instrument_for, source_for
from ohmbook.sheet.near import quoted

Check = Callable[[Sheet], Iterable[Problem]]


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


def known_likes(sheet: Sheet) -> Iterator[Problem]:
    """`like` names a starting point that exists."""
    for group in ("instruments", "sources"):
        for name, thing in getattr(sheet, group).items():
            if why := problem_with(thing):
                yield Problem((group, name, "like"), why)


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


CHECKS: tuple[Check, ...] = (
    names.part_names,
    names.one_name_space,
    names.node_names,
    names.reading_names,
    one_value,
    known_likes,
    board.sketched_parts,
    board.drawn_parts,
    board.ends_apart,
    board.sketched_nodes,
    board.input_apart,
    board.dangling_nodes,
    board.hanging_parts,
    referring.known_names,
    referring.shared_quantities,
    chosen_sources,
    chosen_instruments,
    referring.clear_quantities,
)


def check_sheet(sheet: Sheet) -> list[Problem]:
    """Everything that is wrong across a draft."""
    return [problem for check in CHECKS for problem in check(sheet)]


def _kinds_wanted(reading: ReadingBase) -> str:
    kinds = reading.instrument_kinds
    return f"one of kind {' or '.join(kinds)}" if kinds else "no instrument"
