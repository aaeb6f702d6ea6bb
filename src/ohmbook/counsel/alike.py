"""Drawings that no reading taken so far tells apart from the one in the sheet.

Two parts that always carry the same current (nothing but them joins what lies between them to the
rest) may stand in either order, as long as no reading looks at what lies between. In the words of
graph theory they are an edge cut of two, and swapping them is Whitney's 2-isomorphism (1933, Am.
J. Math. 55, 245), which leaves every other voltage and current as it was. And two parts of which
the sheet says the same, their places apart, only exchange their names.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from ohmbook.bench.compile import Compiled
from ohmbook.circuit.network import Branch, Network, Node
from ohmbook.counsel.changes import on_board, same_statement
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.documents.part import Driver
from ohmbook.documents.reading import Sheet


@dataclass(frozen=True, slots=True)
class Alike:
    """Two parts whose places could be exchanged, and every reading would be the same.

    Args:
        parts: the two.
        between: the nodes that lie between them and were not read; none where only the names
            change place.
        matters: whether something that was unplugged meets the board there, so that their order
            counts for what the board does.
    """

    parts: tuple[str, str]
    between: tuple[Node, ...] = ()
    matters: bool = False


def alike(compiled: Compiled) -> tuple[Alike, ...]:
    """Every two parts in whose places nothing that was read could tell a difference."""
    sheet = compiled.sheet
    looks = (look for row in compiled.rows for look in row.model.looks)
    networks = tuple(dict.fromkeys(look.network for look in looks))
    networks = tuple(one for one in networks if _shows_board(sheet, one))
    if not networks:
        return ()
    read_alone = {
        one.name for r in sheet.readings for one in r.references() if one.key[0] == "part"
    }
    found = []
    for one, other in combinations(on_board(sheet), 2):
        ends = (sheet.parts[one].between or (), sheet.parts[other].between or ())
        if set(ends[0]) == set(ends[1]):
            continue
        between = _between(networks, one, other)
        if between is not None:
            found.append(Alike((one, other), between, _matters(sheet, between)))
        elif same_statement(sheet.parts[one], sheet.parts[other]) and not (
            {one, other} & read_alone
        ):
            found.append(Alike((one, other)))
    return tuple(found)


def alike_findings(compiled: Compiled) -> Iterator[Finding]:
    """What the readings cannot see of the drawing, and what would show it."""
    found = alike(compiled)
    chains = [one for one in found if one.between]
    names = [one for one in found if not one.between]
    if chains:
        yield _chains(compiled, chains)
    if names:
        yield Finding(
            "limit",
            "The readings know parts by their places: taken for each other, these would read the "
            f"same: {'; '.join(' and '.join(group) for group in _together(names))}. Only the board "
            "or a marking tells which is which",
            parts=tuple(dict.fromkeys(part for one in names for part in one.parts)),
        )


def _chains(compiled: Compiled, chains: Sequence[Alike]) -> Finding:
    told = "; ".join(f"{' and '.join(one.parts)} (at {' or '.join(one.between)})" for one in chains)
    matter = [" and ".join(one.parts) for one in chains if one.matters]
    counts = (
        f" For {'; '.join(matter)} it matters, since a driver is plugged in there."
        if matter
        else ""
    )
    return Finding(
        "limit",
        "These stand one after the other, and nothing read what lies between, so that the other "
        f"order would read the same: {told}.{counts} A look at the board or a reading there tells",
        parts=tuple(dict.fromkeys(part for one in chains for part in one.parts)),
        explanations=tuple(
            Explanation(f"{a} and {b} in each other's place", _swap(compiled, a, b))
            for a, b in (one.parts for one in chains)
        ),
    )


def _swap(compiled: Compiled, one: str, other: str) -> str:
    parts = compiled.sheet.parts
    return f"{one}: {_pair(parts[other].between)}; {other}: {_pair(parts[one].between)}"


def _pair(ends: tuple[str, str] | None) -> str:
    assert ends is not None
    return f'between = ["{ends[0]}", "{ends[1]}"]'


def _together(pairs: Iterable[Alike]) -> list[tuple[str, ...]]:
    """Pairs joined into groups of which any two may be exchanged."""
    groups: list[dict[str, None]] = []
    for one in pairs:
        group = next((g for g in groups if set(one.parts) & set(g)), None)
        if group is None:
            groups.append(dict.fromkeys(one.parts))
        else:
            group.update(dict.fromkeys(one.parts))
    return [tuple(group) for group in groups]


def _shows_board(sheet: Sheet, network: Network) -> bool:
    """Whether a circuit has parts at their places on the board (not one alone on the bench)."""
    return any(_in_place(sheet, branch) for branch in network.branches)


def _in_place(sheet: Sheet, branch: Branch) -> bool:
    part = sheet.parts.get(branch.owner)
    return part is not None and part.between == branch.ends


def _between(networks: Iterable[Network], one: str, other: str) -> tuple[Node, ...] | None:
    """The nodes that lie between two parts in every circuit; None where their order shows."""
    found: dict[Node, None] = {}
    for network in networks:
        island = _island(network, one, other)
        if island is None:
            return None
        found.update(dict.fromkeys(island))
    return tuple(found)


def _island(network: Network, one: str, other: str) -> tuple[Node, ...] | None:
    """What only two parts join to the rest: each with one end on it, nothing driven or read."""
    pair = [branch for branch in network.branches if branch.owner in (one, other)]
    if len(pair) != 2:
        return None
    rest = [branch for branch in network.branches if branch not in pair]
    anchors = [network.drive.ends, *network.probes]
    for start in pair[0].ends:
        reached = _reach(rest, start)
        touched = [[end in reached for end in branch.ends] for branch in pair]
        once = all(sum(ends) == 1 for ends in touched)
        if once and not any(node in reached for ends in anchors for node in ends):
            return tuple(sorted(reached))
    return None


def _reach(branches: Iterable[Branch], start: Node) -> set[Node]:
    reached, more = {start}, True
    while more:
        more = False
        for branch in branches:
            a, b = branch.ends
            if (a in reached) != (b in reached):
                reached |= {a, b}
                more = True
    return reached


def _matters(sheet: Sheet, between: Iterable[Node]) -> bool:
    """Whether a driver hangs on what lies between."""
    nodes = set(between)
    return any(
        isinstance(part, Driver) and nodes & set(part.between or ())
        for part in sheet.parts.values()
    )
