"""The circuit engine against batched dense algebra, side by side in one run.

    python -m benchmarks.circuit

The work: a three-way crossover of 12 nodes, 18 parts and 3 drivers, three outputs and the input
impedance at 400 frequencies. Both roads take fresh values in every repetition, and their answers
are compared in each. Medians of 5. One thread is timed by the processor's time that it takes, so
that other programs count little; two by the clock.
"""

from __future__ import annotations

import platform
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

import numpy as np

from benchmarks.circuit_work import (
    F_HZ,
    Complexes,
    Draws,
    Reals,
    dense,
    fresh,
    ladder,
    network,
)
from ohmbook.circuit import Bands, Response, bands, respond, slopes
from ohmbook.circuit.fast import fast_plan
from ohmbook.circuit.lines import lines
from ohmbook.circuit.network import Network
from ohmbook.circuit.plan import Plan
from ohmbook.circuit.response import ready_for
from ohmbook.circuit.values import inventory, tabulate

REPETITIONS = 5
F_FEW = np.geomspace(20.0, 20e3, 15)
QUANTILES = (0.05, 0.5, 0.95)
RUNGS = (6, 12, 24, 48, 100, 200, 400)

Clock = Callable[[], float]

_MEMORY = """
from pathlib import Path
import numpy as np
from benchmarks.circuit_work import F_HZ, fresh, network
from ohmbook.circuit import bands
values = fresh(np.random.default_rng(9), 10_000)
bands(network(), {one: value[:2] for one, value in values.items()}, F_HZ)
def held(what):
    lines = Path("/proc/self/status").read_text().splitlines()
    return float(next(line for line in lines if line.startswith(what)).split()[1])
idle = held("VmRSS")
bands(network(), values, F_HZ)
print((held("VmHWM") - idle) / 1024.0)
"""


def timed(work: Callable[[], object], clock: Clock = process_time) -> float:
    """Seconds that some work takes."""
    start = clock()
    work()
    return clock() - start


def apart(found: Response, wanted: Complexes) -> float:
    """The largest relative difference of two answers; nothing of them is kept, as nobody who works
    one set of draws out after another would keep them."""
    return max(
        *(float(np.abs(a / b - 1.0).max()) for a, b in zip(found.transfer, wanted, strict=False)),
        float(np.abs(found.input_impedance / wanted[-1] - 1.0).max()),
    )


def row(what: str, ours: float, theirs: float, wanted: float, note: str = "") -> None:
    """One line of the table."""
    print(
        f"{what:46}{ours * 1e3:9.2f} ms{theirs * 1e3:10.2f} ms{theirs / ours:8.1f}"
        f"{wanted:8.0f}   {note}"
    )


def many_draws(draws: int, lossy: bool) -> None:
    """One thread against dense."""
    rng, circuit = np.random.default_rng(1), network()
    respond(circuit, fresh(rng, draws, lossy), F_HZ)
    ours, theirs, worst = [], [], 0.0
    # The first few are not counted: the memory that the system hands out anew is written for it.
    for _ in range(REPETITIONS + 2):
        values = fresh(rng, draws, lossy)
        found: list[Response] = []
        wanted: list[Complexes] = []
        ours.append(timed(lambda v=values, a=found: a.append(respond(circuit, v, F_HZ))))  # type: ignore[misc]
        theirs.append(timed(lambda v=values, a=wanted: a.append(dense(v))))  # type: ignore[misc]
        worst = max(worst, apart(found.pop(), wanted.pop()))
    what = f"{draws} draws, one thread{', loss exponents' if lossy else ''}"
    ours, theirs = ours[2:], theirs[2:]
    row(what, median(ours), median(theirs), 30, f"largest difference {worst:.0e}")


def two_threads() -> None:
    """10,000 draws, both by the clock."""
    rng, circuit = np.random.default_rng(3), network()
    ours, theirs, worst = [], [], 0.0
    for _ in range(REPETITIONS):
        values = fresh(rng, 10_000)
        found: list[Response] = []
        wanted: list[Complexes] = []
        ours.append(
            timed(lambda v=values, a=found: a.append(respond(circuit, v, F_HZ, 2)), perf_counter)  # type: ignore[misc]
        )
        theirs.append(timed(lambda v=values, a=wanted: a.append(dense(v)), perf_counter))  # type: ignore[misc]
        worst = max(worst, apart(found.pop(), wanted.pop()))
    row("10,000 draws, two threads", median(ours), median(theirs), 60, f"{worst:.0e}")


def band_end_to_end() -> None:
    """The 5, 50 and 95 % of every magnitude."""
    rng, circuit = np.random.default_rng(4), network()
    ours, theirs, worst = [], [], 0.0
    for _ in range(REPETITIONS):
        values = fresh(rng, 1000)
        found: list[Bands] = []
        wanted: list[Reals] = []
        ours.append(timed(lambda v=values, a=found: a.append(bands(circuit, v, F_HZ, QUANTILES))))  # type: ignore[misc]
        theirs.append(timed(lambda v=values, a=wanted: a.append(_dense_band(v))))  # type: ignore[misc]
        every = np.concatenate([found[0].transfer, found[0].input_impedance[None]])
        worst = max(worst, float(np.abs(every / wanted[0] - 1.0).max()))
    row("5/50/95 % bands, 1000 draws", median(ours), median(theirs), 30, f"{worst:.0e}")


def _dense_band(values: Draws) -> Reals:
    return np.asarray(np.percentile(np.abs(dense(values)), (5, 50, 95), axis=1)).swapaxes(0, 1)


def long_ladder() -> None:
    """48 nodes and 100 draws."""
    rng, (parts, outputs) = np.random.default_rng(5), ladder(48)
    circuit = network(parts, outputs)
    ours, theirs, worst = [], [], 0.0
    for _ in range(REPETITIONS):
        values = fresh(rng, 100, parts=parts)
        found: list[Response] = []
        wanted: list[Complexes] = []
        ours.append(timed(lambda v=values, a=found: a.append(respond(circuit, v, F_HZ))))  # type: ignore[misc]
        theirs.append(
            timed(lambda v=values, a=wanted: a.append(dense(v, parts, outputs, chunk=4)))  # type: ignore[misc]
        )
        worst = max(worst, apart(found.pop(), wanted.pop()))
    row("ladder of 48 nodes, 100 draws", median(ours[1:]), median(theirs), 70, f"{worst:.0e}")


def nominal() -> None:
    """All slopes of one output against one solve, and scikit-rf where it is installed."""
    rng, circuit = np.random.default_rng(2), network()
    one = replace(circuit, probes=circuit.probes[:1])
    solve, swept, every, other = [], [], [], []
    for k in range(20 * REPETITIONS):
        values = {key: float(value[0]) for key, value in fresh(rng, 1, lossy=True).items()}
        solve.append(timed(lambda v=values: respond(circuit, v, F_HZ), perf_counter))  # type: ignore[misc]
        swept.append(timed(lambda v=values: slopes(one, v, F_HZ), perf_counter))  # type: ignore[misc]
        every.append(timed(lambda v=values: slopes(circuit, v, F_HZ), perf_counter))  # type: ignore[misc]
        if find_spec("skrf") and k < REPETITIONS:
            other.append(_by_skrf())
    ratio = median(swept) / median(solve)
    print(f"{'nominal, one sweep':46}{median(solve) * 1e3:9.2f} ms")
    if other:
        row("  against scikit-rf", median(solve), median(other), 80)
    print(
        f"{'all slopes of one output and Zin, forward too':46}{median(swept) * 1e3:9.2f} ms"
        f"{ratio:21.1f} solves, at most 3"
    )
    print(
        f"{'all slopes of three outputs and Zin':46}{median(every) * 1e3:9.2f} ms"
        f"{median(every) / median(solve):21.1f} solves"
    )
    few = [timed(lambda: slopes(circuit, values, F_FEW), perf_counter) for _ in range(100)]
    print(f"{'the same at 15 frequencies':46}{median(few) * 1e3:9.2f} ms")


def _by_skrf() -> float:
    from benchmarks.circuit_skrf import seconds

    return seconds(np.random.default_rng(6))


def plan_of(circuit: Network, values: Draws) -> Plan:
    """The fast plan of a network."""
    needs = inventory(circuit)
    return fast_plan(ready_for(needs, tabulate(needs, values), at_dc=False).topology)


def growth() -> None:
    """How operations and time grow with a ladder's length."""
    operations, seconds = [], []
    for rungs in RUNGS:
        parts, outputs = ladder(rungs)
        circuit = network(parts, outputs)
        rng, times = np.random.default_rng(7), []
        for _ in range(REPETITIONS + 1):
            values = fresh(rng, 20, parts=parts)
            times.append(timed(lambda c=circuit, v=values: respond(c, v, F_HZ)))  # type: ignore[misc]
        operations.append(len(plan_of(circuit, values).operations))
        seconds.append(median(times[1:]))
    size = np.log(RUNGS)
    by_operations = np.polyfit(size, np.log(operations), 1)[0]
    by_time = np.polyfit(size, np.log(seconds), 1)[0]
    print(
        f"{'growth, ladders of 6 to 400 nodes':46}exponent {by_operations:.2f} of operations, "
        f"{by_time:.2f} of time, at most 1.1"
    )


def memory() -> None:
    """The peak of 10,000-draw bands above the process before it, where the system tells."""
    if not Path("/proc/self/status").exists():
        return
    done = subprocess.run(
        [sys.executable, "-c", _MEMORY],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parent.parent,
    )
    print(f"{'10,000-draw bands, peak above idle':46}{float(done.stdout):9.1f} MB, at most 60")


def floor() -> None:
    """What the multiplications and additions alone would take on blocks in the cache: those of the
    plan, and what is left of them where polynomials of low degree are filled instead."""
    rng, circuit = np.random.default_rng(8), network()
    plan = plan_of(circuit, fresh(rng, 1000))
    each = {"*": _nanoseconds(np.multiply), "+": _nanoseconds(np.add), "fill": _filling()}
    points = 1000 * F_HZ.size
    drawn = [fresh(rng, 1000) for _ in range(REPETITIONS)]
    ours = median(timed(lambda v=v: respond(circuit, v, F_HZ)) for v in drawn)  # type: ignore[misc]
    print(f"\nfloor, in the cache: {', '.join(f'{k} {ns:.2f} ns' for k, ns in each.items())}")
    whole: list[str] = [one[0] for one in lines(plan, frozenset(range(plan.varying))).steps]
    left: list[str] = [one[0] for one in lines(plan).steps]
    for what, codes in (("the plan as it is", whole), ("as it is run", left)):
        counted = {code: codes.count(code) for code in each}
        if codes is whole:
            counted["fill"] = 0
        least = points * sum(counted[code] * each[code] for code in each) * 1e-9
        print(
            f"  {what}: {counted['*']} multiplications, {counted['+']} additions and "
            f"{counted['fill']} matrix products a point, {least * 1e3:.1f} ms; the engine takes "
            f"{ours / least:.2f} times that"
        )
    print("  Between them: two divisions a point, writing the answers out and checking them.")


_IN_CACHE = 3200


def _nanoseconds(operator: np.ufunc) -> float:
    """For one point."""
    blocks = np.random.default_rng(0).random((3, _IN_CACHE, 2)).view(np.complex128)[..., 0]
    return _each(lambda: operator(*blocks))


def _filling() -> float:
    """For one point of a polynomial of degree 4."""
    rng, width = np.random.default_rng(0), F_HZ.size
    left, right = rng.random((_IN_CACHE // width, 5)), rng.random((5, 2 * width))
    out = np.empty((_IN_CACHE // width, 2 * width))
    return _each(lambda: np.matmul(left, right, out))


def _each(work: Callable[[], object]) -> float:
    rounds = [timed(lambda: [work() for _ in range(2000)]) for _ in range(REPETITIONS)]
    return median(rounds) / 2000 / _IN_CACHE * 1e9


def machine() -> str:
    """The machine in a line."""
    model = platform.processor() or platform.machine()
    told = Path("/proc/cpuinfo")
    if told.exists():
        names = [line for line in told.read_text().splitlines() if line.startswith("model name")]
        model = f"{names[0].split(':')[1].strip()} x {len(names)}" if names else model
    return f"{model}, Python {platform.python_version()}, NumPy {np.__version__}"


def main() -> None:
    """Print the table."""
    print(machine())
    print("12 nodes, 18 parts, 3 drivers, 3 outputs and the input impedance, 400 frequencies\n")
    print(f"{'':46}{'engine':>12}{'other':>13}{'ratio':>8}{'wanted':>8}")
    many_draws(1000, lossy=False)
    many_draws(1000, lossy=True)
    two_threads()
    band_end_to_end()
    long_ladder()
    nominal()
    growth()
    memory()
    floor()


if __name__ == "__main__":
    main()
