"""Changes of a sketch: each small mistake that a drawing or a set-up may hold, as a changed sheet.

No kind of reading is known by name. What a reading says of the board is found by the names of its
fields (`documents/reference.py`: a field of a given name always means the same), so that a new
kind's clips can be on the wrong node too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from ohmbook.circuit.network import Node
from ohmbook.counsel.change import Change, nodes_of, toml_pair
from ohmbook.counsel.clips import clip_changes
from ohmbook.documents.part import Capacitor, Inductor, Part, Resistor
from ohmbook.documents.reading import Sheet
from ohmbook.units.parse import parse_quantity

WIRE = "wire (not drawn)"
MISSING = "part (not drawn)"
BETWEEN = "~"
"""Ends the name of a node that is not drawn."""

_Plain = Inductor | Capacitor | Resistor
_WORDS = {"inductor": "coil", "capacitor": "capacitor", "resistor": "resistor"}
_OTHER: dict[str, tuple[type[_Plain], ...]] = {
    "inductor": (Capacitor, Resistor),
    "capacitor": (Inductor, Resistor),
    "resistor": (Inductor, Capacitor),
}


@dataclass(frozen=True, slots=True)
class _End:
    """One end of a part: which part, its first or second node, and that node."""

    part: str
    side: int
    node: Node


def changes(sheet: Sheet) -> tuple[Change, ...]:
    """Every single change that is looked at, in the order of the table of mistakes."""
    return tuple(
        one
        for listing in (opened, linked, swapped, moved, of_another_kind, split, clip_changes)
        for one in listing(sheet)
    )


def opened(sheet: Sheet) -> Iterator[Change]:
    """A part that conducts nothing: broken, a cold joint, or not connected there at all."""
    for name in on_board(sheet):
        part = sheet.parts[name].model_copy(update={"between": None})
        yield Change(
            "open",
            f"{name} is open, or not connected",
            f'lifted = ["{name}.1"] in the readings on the board',
            _with_parts(sheet, {name: part}),
            (name,),
        )


def linked(sheet: Sheet) -> Iterator[Change]:
    """Two nodes that are really one: a link missing from the drawing, or a part that is shorted."""
    board = on_board(sheet)
    for a, b in combinations(nodes_of(sheet), 2):
        across = [name for name in board if set(sheet.parts[name].between or ()) == {a, b}]
        wire = Resistor(kind="resistor", value=parse_quantity("0 ohm", "ohm"), between=(a, b))
        changed = replace(sheet, parts={**sheet.parts, WIRE: wire})
        if across:
            yield Change(
                "short",
                f"{' or '.join(across)} is shorted",
                f'shorted = ["{across[0]}"] in the readings on the board',
                changed,
                tuple(across),
            )
        else:
            yield Change(
                "link missing",
                f"nodes {a} and {b} are one: a link between them is not drawn",
                f'write "{a}" for "{b}" everywhere',
                changed,
            )


def swapped(sheet: Sheet) -> Iterator[Change]:
    """Two parts in each other's place; two of which all that is stated is alike say the same."""
    for one, other in combinations(on_board(sheet), 2):
        first, second = sheet.parts[one], sheet.parts[other]
        assert first.between is not None
        assert second.between is not None
        if set(first.between) == set(second.between) or same_statement(first, second):
            continue
        yield Change(
            "swapped",
            f"{one} and {other} are in each other's place",
            f"{one}: {toml_pair(second.between)}; {other}: {toml_pair(first.between)}",
            _with_parts(
                sheet,
                {
                    one: first.model_copy(update={"between": second.between}),
                    other: second.model_copy(update={"between": first.between}),
                },
            ),
            (one, other),
        )


def moved(sheet: Sheet) -> Iterator[Change]:
    """One end of a part on another node than drawn."""
    nodes = nodes_of(sheet)
    for end in _ends(sheet):
        between = sheet.parts[end.part].between
        assert between is not None
        for node in nodes:
            if node in between:
                continue
            ends = (node, between[1]) if end.side == 0 else (between[0], node)
            part = sheet.parts[end.part].model_copy(update={"between": ends})
            yield Change(
                "end moved",
                f"{end.part} goes to {node}, not to {end.node}",
                f"{end.part}: {toml_pair(ends)}",
                _with_parts(sheet, {end.part: part}),
                (end.part,),
            )


def of_another_kind(sheet: Sheet) -> Iterator[Change]:
    """A part that is of another kind than drawn."""
    for name in on_board(sheet):
        part = sheet.parts[name]
        for other in _OTHER.get(part.kind, ()):
            kind = other.model_fields["kind"].annotation.__args__[0]  # type: ignore[union-attr]
            yield Change(
                "other kind",
                f"{name} is a {_WORDS[kind]}, not a {_WORDS[part.kind]}",
                f'{name}: kind = "{kind}"',
                _with_parts(sheet, {name: other(kind=kind, between=part.between)}),
                (name,),
            )


def split(sheet: Sheet) -> Iterator[Change]:
    """One node that is really two: two of its ends meet each other and nothing else there."""
    for node in nodes_of(sheet):
        here = [end for end in _ends(sheet) if end.node == node]
        if len(here) < 4:
            continue  # with fewer, what is cut off is one part's end: that part is open
        for pair in combinations(here, 2):
            names = [end.part for end in pair]
            away = f"{node}2"
            parts = {}
            for end in pair:
                between = sheet.parts[end.part].between
                assert between is not None
                ends = (away, between[1]) if end.side == 0 else (between[0], away)
                parts[end.part] = sheet.parts[end.part].model_copy(update={"between": ends})
            yield Change(
                "link extra",
                f"{names[0]} and {names[1]} meet, but not at {node}: a link drawn there is none",
                f'write "{away}" for "{node}" at {names[0]} and {names[1]}',
                _with_parts(sheet, parts),
                tuple(names),
            )


def missing(sheet: Sheet) -> Iterator[Change]:
    """A part that is not drawn: across two nodes, or in series with one that is.

    One across another of its kind, or in series with it, would only change that one's value.
    """
    nodes = nodes_of(sheet)
    for a, b in combinations(nodes, 2):
        beside = {sheet.parts[n].kind for n in on_board(sheet) if _across(sheet, n) == {a, b}}
        for kind in _OTHER:
            if kind not in beside:
                text = f'kind = "{kind}", {toml_pair((a, b))}'
                what = f"a {_WORDS[kind]} from {a} to {b} is not drawn"
                parts = {MISSING: _plain(kind, (a, b))}
                yield Change("part missing", what, text, _with_parts(sheet, parts))
    for name in on_board(sheet):
        part = sheet.parts[name]
        assert part.between is not None
        a, b = part.between
        for kind in _OTHER:
            if kind != part.kind:
                ends = (a, f"{b}{BETWEEN}"), (f"{b}{BETWEEN}", b)
                moved_ = part.model_copy(update={"between": ends[0]})
                yield Change(
                    "part missing",
                    f"a {_WORDS[kind]} in series with {name} is not drawn",
                    f'{name}: {toml_pair(ends[0])}; kind = "{kind}", {toml_pair(ends[1])}',
                    _with_parts(sheet, {name: moved_, MISSING: _plain(kind, ends[1])}),
                    (name,),
                )


def _plain(kind: str, between: tuple[Node, Node]) -> Part:
    """A part of which nothing but its kind and place is known."""
    if kind == "inductor":
        return Inductor(kind="inductor", between=between)
    if kind == "capacitor":
        return Capacitor(kind="capacitor", between=between)
    return Resistor(kind="resistor", between=between)


def _across(sheet: Sheet, name: str) -> set[Node]:
    return set(sheet.parts[name].between or ())


def same_statement(one: Part, other: Part) -> bool:
    """Whether all that is stated of two parts, their places apart, is the same."""
    bare = {"between": None, "note": None}
    return one.model_copy(update=bare) == other.model_copy(update=bare)


def on_board(sheet: Sheet) -> list[str]:
    """The parts on the board that are always on it: drivers are loads, unplugged or not."""
    return [
        name
        for name, part in sheet.parts.items()
        if part.between is not None and part.kind in _OTHER
    ]


def _ends(sheet: Sheet) -> list[_End]:
    return [
        _End(name, side, node)
        for name in on_board(sheet)
        for side, node in enumerate(sheet.parts[name].between or ())
    ]


def _with_parts(sheet: Sheet, parts: dict[str, Part]) -> Sheet:
    return replace(sheet, parts={**sheet.parts, **parts})


__all__: Sequence[str] = (
    "BETWEEN",
    "MISSING",
    "WIRE",
    "changes",
    "missing",
    "on_board",
    "same_statement",
)
