"""A set-up: what was connected during a reading. The same value is solved, drawn and planned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ohmbook.circuit.network import Network, Node

Tool = Literal["source", "scope", "meter"]


@dataclass(frozen=True, slots=True)
class Clip:
    """One clip on one node.

    Args:
        tool: the kind of thing the clip belongs to, for its symbol.
        name: what the person calls it ("generator", "scope").
        lead: which lead: "+", "-", "tip" or "ground".
        node: where it is clipped.
    """

    tool: Tool
    name: str
    lead: Literal["+", "-", "tip", "ground"]
    node: Node


@dataclass(frozen=True, slots=True)
class SetUp:
    """What was connected.

    Args:
        title: in words ("L1 alone across the generator").
        network: the circuit as connected, leads and probe included.
        clips: where each clip went.
        cautions: what to mind before connecting, in the order to be shown.
        notes: what was changed on the board ("woofer detached").
        leads: owners of the branches that are the instruments' own (ground lead, the probe's
            capacitance): solved with the rest, and drawn as the clips they belong to.
    """

    title: str
    network: Network
    clips: tuple[Clip, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    leads: tuple[str, ...] = ()
