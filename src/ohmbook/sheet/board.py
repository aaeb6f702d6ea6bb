"""Checks of the board as sketched: nodes, ends, and what hangs in the air.

Each check takes the draft of a sheet and yields problems; none changes anything.
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmbook.documents.part import Driver
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.reference import Key
from ohmbook.sheet.fill import nodes_of
from ohmbook.sheet.near import nearest, quoted, suggestion


def sketched_parts(sheet: Sheet) -> Iterator[Problem]:
    """A part in `[sketch.between]` must be in `[parts]`, with the same nodes if it has some."""
    for name, pair in (sheet.sketch.between if sheet.sketch else {}).items():
        key: Key = ("sketch", "between", name)
        part = sheet.parts.get(name)
        if part is None:
            yield Problem(key, f'unknown part "{name}"; {suggestion(name, sheet.parts, _NO_PARTS)}')
        elif part.between is not None and not _agree(part.between, pair, isinstance(part, Driver)):
            yield Problem(
                key,
                f'"{name}" is between {_pair(pair)} here and between {_pair(part.between)} at the '
                "part; expected the same nodes, or only one statement",
            )


def drawn_parts(sheet: Sheet) -> Iterator[Problem]:
    """A part that is drawn must be in `[parts]`."""
    drawing = sheet.sketch.drawing if sheet.sketch else None
    for name in drawing.parts if drawing else ():
        if name not in sheet.parts:
            key: Key = ("sketch", "drawing", "parts", name)
            yield Problem(key, f'unknown part "{name}"; {suggestion(name, sheet.parts, _NO_PARTS)}')


def ends_apart(sheet: Sheet) -> Iterator[Problem]:
    """A part's two ends are on two nodes."""
    for name, (first, second) in nodes_of(sheet).items():
        if first == second:
            yield Problem(
                _nodes_key(sheet, name),
                f'both ends of "{name}" are on node "{first}"; expected two nodes',
            )


def sketched_nodes(sheet: Sheet) -> Iterator[Problem]:
    """Ground, input and outputs are nodes that some part is on."""
    if sheet.sketch is None:
        return
    nodes = _ends(sheet)
    if not nodes and sheet.sketch.drawing is not None and sheet.sketch.input is None:
        return  # a drawing that is only begun joins nothing yet
    for key, node in _terminals(sheet):
        if node not in nodes:
            none = "no part has nodes yet: write between = [...] with each part"
            yield Problem(key, f'no part is on node "{node}"; {suggestion(node, nodes, none)}')


def input_apart(sheet: Sheet) -> Iterator[Problem]:
    """The two nodes of the input, and of an output, differ."""
    for key, ends in _pairs(sheet):
        if ends[0] == ends[1]:
            yield Problem(key, f'both ends are on node "{ends[0]}"; expected two nodes')


def dangling_nodes(sheet: Sheet) -> Iterator[Problem]:
    """A node with one end on it leads nowhere, unless something else is connected there."""
    ends = _ends(sheet)
    used = {node for _, node in _terminals(sheet)} | _clipped(sheet)
    for node, parts in ends.items():
        if len(parts) == 1 and node not in used:
            near = nearest(node, (other for other in ends if other != node))
            hint = f'; did you mean "{near}"?' if near else ""
            yield Problem(
                _nodes_key(sheet, parts[0]),
                f'node "{node}" has only {parts[0]} on it{hint} (expected a second part there, '
                "or the input, an output or ground)",
            )


def hanging_parts(sheet: Sheet) -> Iterator[Problem]:
    """Every part is connected, through others, to ground or to the input."""
    nodes, reached = nodes_of(sheet), _reached(sheet)
    hanging = {name: pair for name, pair in nodes.items() if not reached.intersection(pair)}
    if not hanging or not reached & set(_ends(sheet)):
        return  # where neither ground nor input is on a part, that is told instead
    air = dict.fromkeys(node for pair in hanging.values() for node in pair)
    many = len(hanging) > 1
    yield Problem(
        _nodes_key(sheet, next(iter(hanging))),
        f"the part{'s' * many} {quoted(hanging)} (node{'s' * (len(air) > 1)} {quoted(air)}) "
        f"hang{'s' * (not many)} in the air: no part leads from there to the input or to ground",
    )


_NO_PARTS = "the sheet has no parts"


def _agree(stated: tuple[str, str], drawn: tuple[str, str], polar: bool) -> bool:
    return stated == drawn or (not polar and stated == drawn[::-1])


def _pair(pair: tuple[str, str]) -> str:
    return f'"{pair[0]}" and "{pair[1]}"'


def _nodes_key(sheet: Sheet, name: str) -> Key:
    if sheet.parts[name].between is not None:
        return ("parts", name, "between")
    return ("sketch", "between", name)


def _ends(sheet: Sheet) -> dict[str, list[str]]:
    """Every node, with the part at each end on it."""
    ends: dict[str, list[str]] = {}
    for name, pair in nodes_of(sheet).items():
        for node in pair:
            ends.setdefault(node, []).append(name)
    return ends


def _pairs(sheet: Sheet) -> Iterator[tuple[Key, tuple[str, str]]]:
    """Input and outputs, each against ground where one node is given."""
    sketch = sheet.sketch
    if sketch is None:
        return
    if sketch.input is not None:
        yield ("sketch", "input"), _against(sketch.input, sketch.ground)
    for name, at in sketch.outputs.items():
        yield ("sketch", "outputs", name), _against(at, sketch.ground)


def _against(at: str | tuple[str, str], ground: str) -> tuple[str, str]:
    return (at, ground) if isinstance(at, str) else at


def _terminals(sheet: Sheet) -> Iterator[tuple[Key, str]]:
    """Every node that the sketch names, ground once."""
    ground = sheet.sketch.ground if sheet.sketch else "gnd"
    yield ("sketch", "ground"), ground
    for key, ends in _pairs(sheet):
        yield from ((key, node) for node in ends if node != ground)


def _clipped(sheet: Sheet) -> set[str]:
    """Nodes where a reading clips something, such as the second input of a bi-wired board."""
    return {ref.name for one in sheet.readings for ref in one.references() if ref.noun == "node"}


def _reached(sheet: Sheet) -> set[str]:
    beside: dict[str, set[str]] = {}
    for first, second in nodes_of(sheet).values():
        beside.setdefault(first, set()).add(second)
        beside.setdefault(second, set()).add(first)
    waiting = [sheet.sketch.ground if sheet.sketch else "gnd"]
    if sheet.sketch is not None and sheet.sketch.input is not None:
        waiting += _against(sheet.sketch.input, sheet.sketch.ground)
    reached: set[str] = set()
    while waiting:
        node = waiting.pop()
        if node not in reached:
            reached.add(node)
            waiting += beside.get(node, ())
    return reached
