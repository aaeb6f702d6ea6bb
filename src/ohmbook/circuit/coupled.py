"""Coupled coils made into pieces that are not coupled.

Two coils with a common node are the T of L1 -+ M, L2 -+ M and +-M, exact for every k from 0 to 1
(any textbook of networks, e.g. E. A. Guillemin, Introductory Circuit Theory, 1953). Each arm is
kept as a coil and a mutual reactance in series, so that no difference is taken before it is needed
and each may have its own loss. Two coils whose circuits are joined nowhere are joined at one node,
which carries no current, and then have a common one. Two without a common node, and more than two
on one core, keep their terminals.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
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


@dataclass(frozen=True, slots=True, eq=False)
class Core:
    """Coils that stay coupled.

    Args:
        coils: their pieces.
        mutuals: for each coupling which two coils, and the pieces that hold M and -M.
    """

    coils: tuple[Piece, ...]
    mutuals: tuple[tuple[int, int, Piece, Piece], ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Tie:
    """A coupling that is not zero, of two coils that are not."""

    owner: str
    coils: tuple[str, str]
    rows: tuple[_Rows, _Rows]


def uncoupled(
    needs: Inventory, is_zero: Mapping[Id, int], plain: list[Piece]
) -> tuple[list[Piece], list[Core]]:
    """Take the couplings out.

    Args:
        needs: the network.
        is_zero: for each id, whether it is zero throughout.
        plain: the pieces as if nothing were coupled.

    Returns:
        The pieces, and the coils that stay coupled.
    """
    if not needs.mutuals:
        return plain, []
    pieces, cores = _one_circuit(needs.network, plain), list[Core]()
    ties = list(_ties(needs, is_zero, pieces))
    for names in graph.together([tie.coils for tie in ties]):
        coils = [piece for name in names for piece in pieces if _is_coil(piece, name)]
        pieces = [piece for piece in pieces if piece not in coils]
        mine = [tie for tie in ties if tie.coils[0] in names]
        common = _common(pieces, (coils[0].ends, coils[1].ends))
        if len(coils) == 2 and common is not None:
            pieces += _tee(mine[0], (coils[0], coils[1]), common)
        else:
            core = _core(mine, [replace(coil, kept=True) for coil in coils])
            cores.append(core)
            pieces += [*core.coils, *(one for tie in core.mutuals for one in tie[2:])]
    return pieces, cores


def _one_circuit(network: Network, plain: list[Piece]) -> list[Piece]:
    """The pieces, circuits that only a coupling joins joined at a node too."""
    pieces = list(plain)
    for coupling in network.couplings:
        at = [b.ends[0] for name in coupling.coils for b in network.branches if b.owner == name]
        if joined(network, pieces, at[0]) != joined(network, pieces, at[1]):
            pieces.append(Piece(coupling.owner, "short", (at[0], at[1])))
    return pieces


def _ties(needs: Inventory, is_zero: Mapping[Id, int], pieces: list[Piece]) -> Iterator[_Tie]:
    for number, coupling in enumerate(needs.network.couplings):
        live = all(any(_is_coil(piece, name) for piece in pieces) for name in coupling.coils)
        if live and not is_zero[(coupling.owner, "coupling")]:
            row = needs.mutual_row(number)
            yield _Tie(coupling.owner, coupling.coils, ((row, row + 2), (row + 1, row + 2)))


def _core(ties: list[_Tie], coils: list[Piece]) -> Core:
    place = {coil.owner: k for k, coil in enumerate(coils)}
    mutuals = []
    for tie in ties:
        one, other = (place[name] for name in tie.coils)
        plus, minus = (
            Piece(tie.owner, "mutual", (coils[0].ends[0],) * 2, rows, kept=True)
            for rows in tie.rows
        )
        mutuals.append((one, other, plus, minus))
    return Core(tuple(coils), tuple(mutuals))


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


def _tee(tie: _Tie, coils: tuple[Piece, Piece], common: tuple[int, int]) -> list[Piece]:
    """The T; with one dotted end and one undotted one at the common node M is negative."""
    stem, arm = tie.rows if common[0] == common[1] else tie.rows[::-1]
    # Couplings may have one owner, but a pair of coils has one coupling.
    middle = "\0".join(tie.coils)
    pieces = [Piece(tie.owner, "mutual", (middle, coils[0].ends[common[0]]), stem)]
    for k, coil in enumerate(coils):
        between = f"{middle}\0{k}"
        pieces.append(replace(coil, ends=(coil.ends[1 - common[k]], between)))
        pieces.append(Piece(tie.owner, "mutual", (between, middle), arm))
    return pieces
