"""From a sketch and its parts to a network that the circuit room can work out."""

from __future__ import annotations

from collections.abc import Mapping

from ohmbook.circuit import graph
from ohmbook.circuit.network import Branch, Drive, Id, Network, Node, Pair
from ohmbook.documents.part import ELEMENT, Driver, Part, Sketch
from ohmbook.errors import CircuitError, FloatingError

AMPLIFIER = "amplifier"
"""Owner of the amplifier's output resistance."""


def crossover_network(sketch: Sketch | None, parts: Mapping[str, Part]) -> Network:
    """The network of a sketch, driven at its input and looked at across each output.

    Every part whose nodes are known is a branch; a driver is a resistor of its rated value. The
    amplifier is an EMF of 1 behind its output resistance, where one is stated and isn't zero.

    Args:
        sketch: where the input, the outputs and the ground are.
        parts: parts by name.

    Returns:
        The network; its probes are in the order of `output_names`.

    Raises:
        CircuitError: no sketch, no input, no outputs, or a node that no part reaches; the
            message says what to add to the sheet.
        FloatingError: an output that no path of parts joins with the input.
    """
    drawn, branches = _needed(sketch), _branches(sketch, parts)
    reached = {node for branch in branches for node in branch.ends}
    ends = _input(drawn)
    _check_reached("The input", ends, reached)
    outputs = _outputs(drawn, parts)
    for name, pair in outputs.items():
        _check_reached(f'The output "{name}"', pair, reached)
    _check_joined(outputs, ends, branches)
    owner = AMPLIFIER if _amplifier_ohm(drawn) else None
    return Network(branches, Drive(ends, owner), tuple(outputs.values()))


def output_names(sketch: Sketch | None, parts: Mapping[str, Part]) -> tuple[str, ...]:
    """The names of the outputs: the drivers in the parts' order, then the sketch's own.

    Args:
        sketch: whose `outputs` override a driver's by name.
        parts: parts by name.
    """
    return tuple(_outputs(_needed(sketch), parts))


def fixed_values(sketch: Sketch | None, parts: Mapping[str, Part]) -> dict[Id, float]:
    """What the sheet states and no reading settles: the drivers' rated ohms, the amplifier's.

    Args:
        sketch: whose `amplifier` is taken.
        parts: parts by name.

    Returns:
        Ohms by (owner, "resistance"); to be overridden by what has been settled.
    """
    values = {
        (name, "resistance"): part.rated.value
        for name, part in parts.items()
        if isinstance(part, Driver)
    }
    amplifier_ohm = _amplifier_ohm(_needed(sketch))
    if amplifier_ohm:
        values[(AMPLIFIER, "resistance")] = amplifier_ohm
    return values


def _needed(sketch: Sketch | None) -> Sketch:
    if sketch is None:
        raise CircuitError(
            'The sheet has no sketch: add a [sketch] table with ground = "gnd" and '
            'input = "in", and the nodes of each part, such as between = ["in", "w"].'
        )
    return sketch


def _amplifier_ohm(sketch: Sketch) -> float:
    return 0.0 if sketch.amplifier is None else sketch.amplifier.value


def _branches(sketch: Sketch | None, parts: Mapping[str, Part]) -> tuple[Branch, ...]:
    found = []
    for name, part in parts.items():
        ends = _ends(sketch, name, part)
        if ends is not None:
            found.append(Branch(name, ELEMENT[part.kind], ends))
    if not found:
        raise CircuitError(
            "No part has its nodes: add them to each part of the crossover, "
            'such as between = ["in", "w"].'
        )
    return tuple(found)


def _ends(sketch: Sketch | None, name: str, part: Part) -> Pair | None:
    if part.between is not None:
        return part.between
    return None if sketch is None else sketch.between.get(name)


def _input(sketch: Sketch) -> Pair:
    if sketch.input is None:
        raise CircuitError(
            "The sketch does not say where the amplifier goes: add to [sketch] a node, "
            'input = "in", or a pair of nodes, input = ["in", "gnd"].'
        )
    return _against_ground(sketch.input, sketch.ground)


def _outputs(sketch: Sketch, parts: Mapping[str, Part]) -> dict[str, Pair]:
    found: dict[str, Pair] = {}
    for name, part in parts.items():
        ends = _ends(sketch, name, part)
        if isinstance(part, Driver) and ends is not None:
            found[name] = ends
    for name, place in sketch.outputs.items():
        found[name] = _against_ground(place, sketch.ground)
    if not found:
        raise CircuitError(
            "The sketch has no output: give a driver its nodes, or add to [sketch.outputs] "
            'a name and a node, such as woofer = "w".'
        )
    return found


def _against_ground(place: str | Pair, ground: Node) -> Pair:
    return (place, ground) if isinstance(place, str) else place


def _check_reached(what: str, pair: Pair, reached: set[Node]) -> None:
    for node in pair:
        if node not in reached:
            known = ", ".join(f'"{one}"' for one in sorted(reached))
            raise CircuitError(
                f'{what} is at node "{node}", which no part reaches; the nodes are {known}.'
            )


def _check_joined(outputs: Mapping[str, Pair], ends: Pair, branches: tuple[Branch, ...]) -> None:
    found = graph.reached(ends, graph.neighbours(branch.ends for branch in branches))
    for name, pair in outputs.items():
        floating = tuple(node for node in dict.fromkeys(pair) if node not in found)
        if floating:
            raise FloatingError(
                floating,
                why=f'no part leads from there to the input ("{ends[0]}", "{ends[1]}"), so the '
                f'output "{name}" cannot be worked out',
            )
