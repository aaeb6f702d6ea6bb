"""Changes of where things were clipped: the probe, the source, the scope's ground, what was off.

Fields are known by their names, which mean the same in every kind of reading.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import combinations
from typing import Any

from ohmbook.circuit.network import Node
from ohmbook.counsel.change import Change, ChangeKind, nodes_of
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.documents.reference import MEANING
from ohmbook.documents.table import Table

Renaming = Mapping[Node, Node]

_PROBES = "probe"
_SOURCE = "source"
_GROUND = "scope_ground"
_OFF = "detached"
_CLIP_OF = {"amplitudes": _PROBES, "phases": _PROBES, "at": _SOURCE}
"""Whose clip a field that names nodes is; any other such field is told as a clip."""


def clip_changes(sheet: Sheet) -> Iterator[Change]:
    """Every change of a clip that is looked at."""
    yield from _probes(sheet)
    yield from _sources(sheet)
    yield from _grounds(sheet)
    yield from _still_on(sheet)


def _probes(sheet: Sheet) -> Iterator[Change]:
    nodes, read = nodes_of(sheet), _read_at(sheet, _PROBES)
    for was in read:
        for node in nodes:
            if node != was:
                what = f"the probe was on {node} where {was} is written"
                yield _renamed(sheet, _PROBES, {was: node}, what)
    for one, other in combinations(read, 2):
        what = f"{one} and {other} are exchanged where the probe was"
        yield _renamed(sheet, _PROBES, {one: other, other: one}, what)


def _sources(sheet: Sheet) -> Iterator[Change]:
    for was in _read_at(sheet, _SOURCE):
        for node in nodes_of(sheet):
            if node != was:
                what = f"the source was clipped to {node}, not to {was}"
                yield _renamed(sheet, _SOURCE, {was: node}, what)


def _renamed(sheet: Sheet, clip: str, names: Renaming, what: str) -> Change:
    kind: ChangeKind = "source moved" if clip == _SOURCE else "probe moved"
    text = ", ".join(f'"{new}" for "{old}"' for old, new in names.items())
    change = _changed(sheet, lambda one: renamed(one, clip, names))
    where = "at = " if clip == _SOURCE else "where it was read"
    return Change(kind, what, f"write {text} ({where})", change[0], readings=change[1])


def renamed(reading: ReadingBase, clip: str, names: Renaming) -> ReadingBase:
    """A reading with the nodes of one clip renamed, in whatever fields name them."""
    update: dict[str, Any] = {}
    for name in type(reading).model_fields:
        value = getattr(reading, name)
        if isinstance(value, Table) and clip == _PROBES:
            update[name] = _table(value, names)
        elif MEANING.get(name) == "node" and _clip_of(name) == clip:
            update[name] = _rename(value, names)
    update = {name: new for name, new in update.items() if new != getattr(reading, name)}
    return reading.model_copy(update=update) if update else reading


def _grounds(sheet: Sheet) -> Iterator[Change]:
    for node in nodes_of(sheet):

        def onto(reading: ReadingBase, node: Node = node) -> ReadingBase:
            fields = type(reading).model_fields
            if _GROUND not in fields or getattr(reading, _GROUND) is not None:
                return reading
            at = getattr(reading, "at", None)
            if isinstance(at, str):
                return (
                    reading
                    if at == node
                    else reading.model_copy(update={_GROUND: node, "at": (at, node)})
                )
            return reading.model_copy(update={_GROUND: node})

        ground = "gnd" if sheet.sketch is None else sheet.sketch.ground
        if node != ground:
            changed, concerned = _changed(sheet, onto)
            if concerned:
                yield Change(
                    "ground moved",
                    f"the grounds of source and scope were clipped to {node}, not to {ground}",
                    f'{_GROUND} = "{node}", at = ["...", "{node}"]',
                    changed,
                    readings=concerned,
                )


def _still_on(sheet: Sheet) -> Iterator[Change]:
    off = dict.fromkeys(name for reading in sheet.readings for name in getattr(reading, _OFF, ()))
    for name in off:

        def on(reading: ReadingBase, name: str = name) -> ReadingBase:
            if name not in getattr(reading, _OFF, ()):
                return reading
            left = tuple(one for one in getattr(reading, _OFF) if one != name)
            return reading.model_copy(update={_OFF: left})

        changed, concerned = _changed(sheet, on)
        yield Change(
            "not detached",
            f"{name} was still connected",
            f"take {name} out of {_OFF}, or unplug it and read again",
            changed,
            (name,),
            concerned,
        )


def _changed(
    sheet: Sheet, change: Callable[[ReadingBase], ReadingBase]
) -> tuple[Sheet, tuple[str, ...]]:
    """The sheet with every reading changed, and the names of those that did change."""
    readings = tuple(change(one) for one in sheet.readings)
    pairs = zip(readings, sheet.readings, strict=True)
    concerned = tuple(old.name for new, old in pairs if new is not old)
    return replace(sheet, readings=readings), concerned


def _read_at(sheet: Sheet, clip: str) -> tuple[Node, ...]:
    """The nodes that readings name for one clip, in order."""
    nodes, found = nodes_of(sheet), {}
    for reading in sheet.readings:
        if reading.struck is not None:
            continue
        for name in type(reading).model_fields:
            value = getattr(reading, name)
            if isinstance(value, Table) and clip == _PROBES:
                found.update(dict.fromkeys(column.name for column in value.columns))
            elif MEANING.get(name) == "node" and _clip_of(name) == clip:
                found.update(dict.fromkeys(_named(value)))
    return tuple(node for node in found if node in nodes)


def _clip_of(field: str) -> str:
    return _CLIP_OF.get(field, _GROUND if field == _GROUND else "")


def _named(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    return list(value) if value is not None else []


def _rename(value: Any, names: Renaming) -> Any:
    if isinstance(value, str):
        return names.get(value, value)
    if isinstance(value, dict):
        return {names.get(key, key): held for key, held in value.items()}
    if isinstance(value, tuple):
        return tuple(names.get(one, one) for one in value)
    return value


def _table(table: Table, names: Renaming) -> Table:
    columns = tuple(replace(one, name=names.get(one.name, one.name)) for one in table.columns)
    return table if columns == table.columns else replace(table, columns=columns)
