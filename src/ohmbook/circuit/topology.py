"""From names to numbers: the structure of a network, with shorts merged and opens removed.

Two networks of the same structure have the same topology, whatever their values and names, and
therefore the same plan.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ohmbook.circuit import graph
from ohmbook.circuit.coupled import Core, Piece, check_islands, uncoupled
from ohmbook.circuit.element import Bank, Form, Rows, forms
from ohmbook.circuit.network import Branch, Id, Network, Node
from ohmbook.circuit.values import Inventory
from ohmbook.errors import ContradictionError, FloatingError

_Zeros = dict[Id, int]
Numbers = dict[Node, int]
_ORDER: tuple[Form, ...] = (
    "coil",
    "winding",
    "mutual",
    "capacitor",
    "lossy capacitor",
    "resistance",
)


@dataclass(frozen=True, slots=True)
class Link:
    """A branch between two numbered nodes; `n` and `d` are leaf slots, or -1 for 1."""

    a: int
    b: int
    n: int
    d: int


@dataclass(frozen=True, slots=True)
class Coupled:
    """Coils that stay coupled.

    Args:
        ends: two nodes of each coil, the dotted one first.
        coils: the leaf slot of each.
        mutuals: for each coupling which two coils, and the leaf slots of M and -M.
    """

    ends: tuple[int, ...]
    coils: tuple[int, ...]
    mutuals: tuple[tuple[int, int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Topology:
    """The structure, all in integers.

    Args:
        nodes: how many; node 0, the datum, is the source's minus terminal.
        links: the branches that carry anything.
        leaves: how many leaf slots.
        source: the plus terminal; 0 where the source is shorted.
        behind: leaf slot of the source's resistance, -1 for an ideal EMF.
        probes: pairs of nodes.
        varying: how many leaves, the first ones, vary with frequency.
        coupled: coils that stay coupled, which are not among the links.
    """

    nodes: int
    links: tuple[Link, ...]
    leaves: int
    source: int
    behind: int
    probes: tuple[tuple[int, int], ...]
    varying: int = 0
    coupled: tuple[Coupled, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Compiled:
    """A network made ready: its topology, and where its leaves come from.

    Args:
        needs: the network by names.
        topology: by numbers.
        bank: how to work out the leaves from a table of values.
        owners: whose each leaf is, by slot.
    """

    needs: Inventory
    topology: Topology
    bank: Bank
    owners: tuple[str, ...]

    @property
    def network(self) -> Network:
        """The network, by names."""
        return self.needs.network


@lru_cache(maxsize=512)
def compiled(needs: Inventory, zero: bytes, at_dc: bool) -> Compiled:
    """Make a network ready.

    Args:
        needs: the network, by its inventory, which is quicker to look up.
        zero: one byte for each of its ids, 1 where the value is zero throughout.
        at_dc: whether at 0 Hz.

    Raises:
        FloatingError: a probe or the source hangs in the air.
        ContradictionError: an ideal source across a short.
    """
    network = needs.network
    is_zero: _Zeros = dict(zip(needs.ids, zero, strict=True))
    plain = [
        Piece(branch.owner, form, branch.ends, _semi_rows(needs, branch))
        for branch in network.branches
        for form in _forms(branch, is_zero, at_dc)
    ]
    pieces, cores = uncoupled(needs, is_zero, plain)
    place = _places(network, pieces)
    ideal = bool(is_zero.get((network.drive.owner or "", "resistance"), 1))
    if ideal and place[network.drive.ends[0]] == place[network.drive.ends[1]]:
        raise _contradiction(network, pieces, at_dc)
    live = _live(network, pieces, place, at_dc)
    check_islands(network, plain)
    if network.drive.owner is not None and not ideal:
        # Not a branch between nodes of the network: its leaf comes last.
        source = Piece(network.drive.owner, "resistance", (network.drive.ends[1],) * 2)
        live = [*live, source]
    ranked = sorted(live, key=lambda piece: _ORDER.index(piece.form))
    bank, owners = _bank(needs, is_zero, ranked)
    topology = _numbered(network, (ranked, cores), place, bank)
    behind = -1 if network.drive.owner is None or ideal else bank.leaves - 1
    return Compiled(needs, replace(topology, behind=behind), bank, owners)


def _semi_rows(needs: Inventory, branch: Branch) -> tuple[int, int]:
    if branch.element != "semi-inductor":
        return -1, -1
    row = needs.semi_row(branch.owner)
    return row, row + 1


def _forms(branch: Branch, is_zero: _Zeros, at_dc: bool) -> tuple[Form, ...]:
    return forms(branch.element, lambda quantity: bool(is_zero[(branch.owner, quantity)]), at_dc)


def _places(network: Network, pieces: list[Piece]) -> dict[Node, Node]:
    ends = [piece.ends for piece in pieces]
    # The minus terminal first, so that it stands for whatever is joined with it.
    order = (network.drive.ends[::-1], *ends, *network.probes)
    nodes = [node for pair in order for node in pair]
    return graph.merged(nodes, (one.ends for one in pieces if one.form == "short"))


def _contradiction(network: Network, pieces: list[Piece], at_dc: bool) -> ContradictionError:
    plus, minus = network.drive.ends
    when = " at 0 Hz" if at_dc else ""
    if plus == minus:
        return ContradictionError(
            f'Both terminals of the source are at the node "{plus}": expected two nodes.'
        )
    through = graph.path(plus, minus, [(p.owner, p.ends) for p in pieces if p.form == "short"])
    names = dict.fromkeys(f'"{name}"' for name in through)
    return ContradictionError(
        f"A source without resistance stands across a short{when}: {', '.join(names)} "
        f'{"joins" if len(names) == 1 else "join"} its terminals "{plus}" and "{minus}", without '
        "resistance either. Give the part or the source the resistance it has."
    )


def _live(
    network: Network, pieces: list[Piece], place: dict[Node, Node], at_dc: bool
) -> list[Piece]:
    """The pieces that a path leads to from the source; what hangs in the air must not be asked."""
    drive, branches = network.drive.ends, network.branches
    touched = {node for branch in branches for node in branch.ends}
    untouched = tuple(node for node in drive if node not in touched)
    if branches and untouched:
        raise FloatingError(untouched, "source terminal", why="no part is connected there")
    joining = [p for p in pieces if p.form not in ("short", "open")]
    beside = graph.neighbours((place[p.ends[0]], place[p.ends[1]]) for p in joining)
    found = graph.reached([place[node] for node in drive], beside)
    asked = dict.fromkeys(node for pair in network.probes for node in pair)
    floating = tuple(node for node in asked if place[node] not in found)
    if floating:
        raise FloatingError(floating, when=" at 0 Hz" if at_dc else "")
    return [
        p
        for p in joining
        if place[p.ends[0]] in found and (p.kept or place[p.ends[0]] != place[p.ends[1]])
    ]


def _numbered(
    network: Network,
    pieces: tuple[list[Piece], list[Core]],
    place: dict[Node, Node],
    bank: Bank,
) -> Topology:
    ranked, cores = pieces
    plus, minus = network.drive.ends
    number = {place[minus]: 0}
    number.setdefault(place[plus], 1)
    for piece in ranked:
        for node in piece.ends:
            number.setdefault(place[node], len(number))
    ends = [(number[place[a]], number[place[b]]) for a, b in (piece.ends for piece in ranked)]
    links = [
        Link(a, b, *_slots(k, ranked, bank))
        for k, (a, b) in enumerate(ends)
        if a != b and not ranked[k].kept
    ]
    return Topology(
        nodes=len(number),
        links=tuple(links),
        leaves=bank.leaves,
        source=number[place[plus]],
        behind=-1,
        probes=tuple((number[place[a]], number[place[b]]) for a, b in network.probes),
        varying=bank.varying,
        coupled=tuple(
            _core(core, ranked, place, number) for core in cores if core.coils[0] in ranked
        ),
    )


def _slots(k: int, ranked: list[Piece], bank: Bank) -> tuple[int, int]:
    """The slots of n and d of the k-th piece."""
    form = ranked[k].form
    extra = bank.lossy_capacitor.size
    if form == "coil" or form == "mutual":
        return k, -1
    if form == "resistance":
        return k + extra, -1
    return (k + extra if form == "lossy capacitor" else -1), k


def _core(core: Core, ranked: list[Piece], place: dict[Node, Node], number: Numbers) -> Coupled:
    """Coupled coils by numbers."""
    slot = {id(piece): k for k, piece in enumerate(ranked)}
    return Coupled(
        tuple(number[place[node]] for coil in core.coils for node in coil.ends),
        tuple(slot[id(coil)] for coil in core.coils),
        tuple((i, j, slot[id(plus)], slot[id(minus)]) for i, j, plus, minus in core.mutuals),
    )


def _bank(needs: Inventory, is_zero: _Zeros, ranked: list[Piece]) -> tuple[Bank, tuple[str, ...]]:
    row = {one: k for k, one in enumerate(is_zero)}
    mutuals = [piece.rows for piece in ranked if piece.form == "mutual"]

    def rows(quantity: str, *wanted: Form) -> list[int]:
        # What an element has no such quantity of is zero.
        ids = [(piece.owner, quantity) for piece in ranked if piece.form in wanted]
        return [row.get(one, needs.zeros) for one in ids]

    windings = rows("winding_capacitance", "winding")
    capacitors: tuple[Form, ...] = ("capacitor", "lossy capacitor")
    loss = [
        *rows("loss", "coil"),
        *[needs.zeros] * len(windings),
        *[loss for _, loss in mutuals],
        *rows("loss", *capacitors),
    ]
    no_loss = [*is_zero.values(), 1]
    for _, _, _, *losses in needs.mutuals:
        no_loss += [1, 1, all(no_loss[one] for one in losses)]
    no_loss += [0] * 2 * len(needs.semis)
    mutual_mains = [main for main, _ in mutuals]
    bank = Bank(
        main=_rows(
            rows("inductance", "coil") + windings + mutual_mains + rows("capacitance", *capacitors)
        ),
        loss=_rows(loss),
        lossy=_rows([k for k, one in enumerate(loss) if not no_loss[one]]),
        coil=_rows(rows("resistance", "coil")),
        lossy_capacitor=_rows(rows("resistance", "lossy capacitor")),
        resistance=_rows(rows("resistance", "resistance")),
    )
    series = [piece.owner for piece in ranked if piece.form == "lossy capacitor"]
    names = [piece.owner for piece in ranked]
    reactive = bank.reactances
    return bank, (*names[:reactive], *series, *names[reactive:])


def _rows(numbers: list[int]) -> Rows:
    return np.array(numbers, dtype=np.intp)
