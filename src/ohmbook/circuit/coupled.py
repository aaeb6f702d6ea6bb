"""Coupled coils made into pieces that are not coupled.

Two coils with a common node are the T of L1 -+ M, L2 -+ M and +-M, exact for every k from 0 to 1
(any textbook of networks, e.g. E. A. Guillemin, Introductory Circuit Theory, 1953). Each arm is
kept as a coil and a mutual reactance in series, so that no difference is taken before it is needed
and each may have its own loss. Two coils whose circuits are joined nowhere are joined at one node,
which carries no current, and then have a common one. What is left keeps its four terminals.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ohmbook.circuit import graph
from ohmbook.circuit.element import Form
from ohmbook.circuit.network import Id, Network, Node, Pair
from ohmbook.circuit.values import Inventory
from ohmbook.errors import FloatingError


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One element of a network as its values make it.

    Args:
        owner: whose.
        form: what it has become.
        ends: its two nodes.
        rows: of a mutual reactance, the rows of M and of its loss in the table of values.
        kept: whether its leaf is needed wherever its ends are.
    """

    owner: str
    form: Form
    ends: Pair
    rows: tuple[int, int] = (-1, -1)
    kept: bool = False


_Rows = tuple[int, int]

Far = tuple[Piece, Piece, Piece, Piece]
"""Two coils that stay coupled, and the pieces that hold M and -M for them."""


def uncoupled(
    needs: Inventory, is_zero: Mapping[Id, int], plain: list[Piece]
) -> tuple[list[Piece], list[Far]]:
    """Take the couplings out.

    Args:
        needs: the network.
        is_zero: for each id, whether it is zero throughout.
        plain: the pieces as if nothing were coupled.

    Returns:
        The pieces, and the pairs of coils that have no common node.
    """
    if not needs.mutuals:
        return plain, []
    pieces, far = list(plain), list[Far]()
    for number, coupling in enumerate(needs.network.couplings):
        at = [
            b.ends[0] for name in coupling.coils for b in needs.network.branches if b.owner == name
        ]
        if joined(needs.network, pieces, at[0]) != joined(needs.network, pieces, at[1]):
            pieces.append(Piece(coupling.owner, "short", (at[0], at[1])))
        coils = [p for name in coupling.coils for p in pieces if _is_coil(p, name)]
        if is_zero[(coupling.owner, "coupling")] or len(coils) < 2:
            continue
        row = needs.mutual_row(number)
        rows = ((row, row + 2), (row + 1, row + 2))
        common = _common(pieces, (coils[0].ends, coils[1].ends))
        pieces = [piece for piece in pieces if piece not in coils]
        if common is None:
            pair = [replace(coil, kept=True) for coil in coils]
            held = [
                Piece(coupling.owner, "mutual", (coils[0].ends[0],) * 2, one, kept=True)
                for one in rows
            ]
            far.append((pair[0], pair[1], held[0], held[1]))
            pieces += [*pair, *held]
        else:
            pieces += _tee(coupling.owner, (coils[0], coils[1]), common, rows)
    return pieces, far


def _is_coil(piece: Piece, owner: str) -> bool:
    return piece.owner == owner and piece.form == "coil"


def joined(network: Network, pieces: list[Piece], node: Node) -> Node:
    """The node that stands for all that a current can reach from a node, the source included."""
    edges = [network.drive.ends, *(one.ends for one in pieces if one.form != "open")]
    nodes = [end for pair in (*edges, *network.probes, (node, node)) for end in pair]
    return graph.merged(nodes, edges)[node]


def check_islands(network: Network, plain: list[Piece]) -> None:
    """A voltage between two circuits that only a field joins is nothing that can be asked for.

    Raises:
        FloatingError: a probe has its nodes in two of them.
    """
    if network.couplings:
        for a, b in network.probes:
            if joined(network, plain, a) != joined(network, plain, b):
                raise FloatingError((a, b), why="only a coupling lies between them")


def _common(pieces: list[Piece], ends: tuple[Pair, Pair]) -> tuple[int, int] | None:
    """Which end of each coil is at a node that both have; None where there is none."""
    shorts = [one.ends for one in pieces if one.form == "short"]
    place = graph.merged([end for pair in (*ends, *shorts) for end in pair], shorts)
    for one in (0, 1):
        for other in (0, 1):
            if place[ends[0][one]] == place[ends[1][other]]:
                return one, other
    return None


def _tee(
    owner: str, coils: tuple[Piece, Piece], common: tuple[int, int], rows: tuple[_Rows, _Rows]
) -> list[Piece]:
    """The T; with one dotted end and one undotted one at the common node M is negative."""
    stem, arm = rows if common[0] == common[1] else rows[::-1]
    middle = f"{owner}\0"
    pieces = [Piece(owner, "mutual", (middle, coils[0].ends[common[0]]), stem)]
    for k, coil in enumerate(coils):
        between = f"{owner}\0{k}"
        pieces.append(replace(coil, ends=(coil.ends[1 - common[k]], between)))
        pieces.append(Piece(owner, "mutual", (between, middle), arm))
    return pieces
