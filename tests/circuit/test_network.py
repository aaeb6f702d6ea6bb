"""A network as a key: equal networks are one, here and in another process."""

from __future__ import annotations

import pickle
import subprocess
import sys
from dataclasses import replace

from ohmbook.circuit.network import Branch, Drive, Network


def _network() -> Network:
    return Network((Branch("R1", "resistor", ("in", "gnd")),), Drive(("in", "gnd"), "G"))


def test_equal_networks_are_one_key_and_others_are_not() -> None:
    one, other = _network(), _network()
    assert one == other
    assert hash(one) == hash(other)
    assert replace(one, probes=(("in", "gnd"),)) not in {one: 1}
    assert other in {one: 1}


def test_it_is_hashed_anew_in_another_process() -> None:
    """Strings hash otherwise there: a hash carried along would be the wrong one."""
    code = (
        "import sys, pickle\n"
        "from tests.circuit.test_network import _network\n"
        "assert pickle.loads(sys.stdin.buffer.read()) in {_network(): 1}\n"
    )
    subprocess.run([sys.executable, "-c", code], input=pickle.dumps(_network()), check=True)
