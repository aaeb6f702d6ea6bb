"""Random networks: connected, driven between any two nodes, probed anywhere."""

from __future__ import annotations

from hypothesis import strategies as st

from ohmbook.circuit.network import QUANTITIES, Branch, Drive, Element, Network

from .boards import Floats

_DECADES = {
    "resistance": (-1.0, 3.0),
    "inductance": (-5.0, -2.0),
    "capacitance": (-7.0, -4.0),
    "winding_capacitance": (-10.5, -9.0),
}
_SERIES = (-2.0, 1.0)


@st.composite
def values_of(draw: st.DrawFn, element: Element, lossless: bool) -> dict[str, float]:
    """Values within the usual decades, every optional one present or absent."""
    found = {}
    for k, quantity in enumerate(QUANTITIES[element]):
        if k and (lossless or draw(st.booleans())):
            continue
        if quantity == "loss":
            found[quantity] = draw(st.floats(-0.02, 0.1))
        else:
            decades = _SERIES if k and quantity == "resistance" else _DECADES[quantity]
            found[quantity] = 10.0 ** draw(st.floats(*decades))
    return found


@st.composite
def networks(
    draw: st.DrawFn, most_nodes: int = 8, lossless: bool = False
) -> tuple[Network, Floats]:
    """A network and its values.

    Every node hangs on an earlier one, and some more branches lie between any two, some of them
    open. Nodes 0 and 1 are joined by a resistor, so that no two capacitors split the circuit.
    """
    count = draw(st.integers(2, most_nodes))
    node = st.integers(0, count - 1)
    pairs = [(draw(st.integers(0, k - 1)), k) for k in range(1, count)]
    pairs += draw(st.lists(st.tuples(node, node).filter(lambda p: p[0] != p[1]), max_size=count))
    elements: list[Element] = ["resistor", "inductor", "capacitor"]
    branches: list[Branch] = []
    values: Floats = {}
    for k, (a, b) in enumerate(pairs):
        # The branches of the tree conduct, so that nothing hangs in the air.
        choice = elements if k < count - 1 else [*elements, "open"]
        element = draw(st.sampled_from(choice))
        branches.append(Branch(f"part {k}", element, (f"n{a}", f"n{b}")))
        found = draw(values_of(element, lossless))
        values |= {(f"part {k}", name): value for name, value in found.items()}
    plus, minus = draw(st.tuples(node, node).filter(lambda p: p[0] != p[1]))
    probes = draw(st.lists(st.tuples(node, node), min_size=1, max_size=4))
    owner = "source" if lossless or draw(st.booleans()) else None
    if owner:
        values[(owner, "resistance")] = 10.0 ** draw(st.floats(-1.0, 2.0))
    drive = Drive((f"n{plus}", f"n{minus}"), owner)
    return Network(tuple(branches), drive, tuple((f"n{a}", f"n{b}") for a, b in probes)), values


frequencies = st.lists(st.floats(1.0, 4.5).map(lambda x: 10.0**x), min_size=1, max_size=3)
"""Audio frequencies, some above."""
