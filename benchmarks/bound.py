"""Is settle as good as any estimator can be? Its errors against the Bayesian Cramér-Rao bound.

    python -m benchmarks.bound [REPLICATES] [SEED]

One board, again and again: its main values stay, all that goes with them (series resistances,
losses, source, gains) is drawn from what is believed of it as a normal distribution, readings have
normal errors and are not rounded. Information is J = F + P (H. L. Van Trees, Detection, Estimation,
and Modulation Theory, part I, 1968, sec. 2.4), F of the readings and P of the beliefs. Van Trees
takes the mean of F over the beliefs; the few truths that sit on a null, where F is huge, lead that
mean, and the bound is then one that nobody can reach. So each error is held against the bound with
F at its own truth, which is nowhere weaker in the mean (the inverse is convex), and the looser one
is printed besides. F comes from dense algebra and central differences, which share nothing with
the product.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray

import ohmbook
from benchmarks.dense import Element, voltages
from benchmarks.screen import STEP_DIV, finest_range

Array = NDArray[np.float64]
Truth = Mapping[str, float]

F_HZ = (60, 150, 300, 500, 800, 1200, 1700, 2400, 3400, 4800, 6800, 9600, 13600, 19000)
NODES = ("in", "m", "t")
PARTS: dict[str, tuple[str, str, float, float]] = {
    "L1": ("in", "m", 1.2e-3, 0.4),
    "C1": ("m", "gnd", 14e-6, 0.2),
    "L3": ("m", "w", 0.5e-3, 0.3),
    "R1": ("w", "z", 6.8, 0.0),
    "C2": ("z", "gnd", 9e-6, 0.2),
    "C3": ("in", "a", 6.8e-6, 0.02),
    "L2": ("a", "gnd", 0.33e-3, 0.3),
    "C4": ("a", "b", 15e-6, 0.2),
    "R2": ("b", "t", 2.2, 0.0),
    "R3": ("t", "gnd", 12.0, 0.0),
}
"""Ends, main value (the sheet says nothing of it), series resistance (it states that)."""
VALUE_U, SERIES_U = log(6.0), 0.10
COIL_LOSS_U, CAPACITOR_LOSS_U = 0.02, 0.01
SOURCE_OHM, SOURCE_U, LOAD_OHM, LOAD_U = 50.0, 0.025, 47.0, 0.0025
OPEN_VPP, OPEN_U = 6.0, log(10.0)
GAIN_U, RANGE_U, EXCESS_U = 0.03 / sqrt(3.0), 0.005 / sqrt(3.0), 0.5
PRECISE = 1e-4


@dataclass(frozen=True)
class Belief:
    """One unknown: centre and standard uncertainty, of its logarithm where it is positive."""

    centre: float
    u: float
    log: bool

    def value(self, t: float) -> float:
        """The unknown itself."""
        return exp(t) if self.log else t


def beliefs() -> dict[str, Belief]:
    """Every unknown of the problem, as the sheet states it."""
    found: dict[str, Belief] = {}
    for name, (_, _, value, series) in PARTS.items():
        found[name] = Belief(log(value), VALUE_U, True)
        if name[0] != "R":
            found[f"{name} ohm"] = Belief(log(series), SERIES_U, True)
            found[f"{name} loss"] = Belief(
                0.0, COIL_LOSS_U if name[0] == "L" else CAPACITOR_LOSS_U, False
            )
    found["source"] = Belief(log(SOURCE_OHM), SOURCE_U, True)
    found["load"] = Belief(log(LOAD_OHM), LOAD_U, True)
    found["open"] = Belief(log(OPEN_VPP), OPEN_U, True)
    found["gain"] = Belief(0.0, GAIN_U, False)
    found["excess"] = Belief(0.0, EXCESS_U, False)
    return found


def volts(truth: Truth) -> Array:
    """What a perfect screen would show: open, loaded, then every node at every frequency."""
    elements: list[Element] = []
    for name, (a, b, _, _) in PARTS.items():
        if name[0] == "R":
            elements.append(("R", a, b, truth[name]))
        else:
            series, loss = truth[f"{name} ohm"], truth[f"{name} loss"]
            elements.append((name[0], a, b, truth[name], series, loss))
    solved = voltages(elements, np.array(F_HZ, float), "in", "gnd", truth["source"], "gnd")
    table = np.array([abs(solved[node]) for node in NODES]).T.ravel()
    loaded = truth["load"] / (truth["load"] + truth["source"])
    return truth["open"] * np.concatenate([[1.0, loaded], table])


@dataclass(frozen=True)
class Problem:
    """The board, its beliefs, and on which range each reading is taken."""

    beliefs: dict[str, Belief]
    ranges: Array

    @classmethod
    def make(cls) -> Problem:
        """Ranges as the nominal board's readings would be on."""
        own = beliefs()
        nominal = volts({name: one.value(one.centre) for name, one in own.items()})
        ranges = np.array([finest_range(float(v)) for v in nominal])
        for r in sorted(set(ranges.tolist())):
            own[f"range {r:g}"] = Belief(0.0, RANGE_U, False)
        return cls(own, ranges)

    @property
    def centre(self) -> Array:
        """Centres of all beliefs."""
        return np.array([one.centre for one in self.beliefs.values()])

    @property
    def u(self) -> Array:
        """Their standard uncertainties."""
        return np.array([one.u for one in self.beliefs.values()])

    @property
    def sigma(self) -> Array:
        """Each reading's own standard uncertainty, V peak to peak: that of a step's rounding."""
        return STEP_DIV * self.ranges / sqrt(12.0)

    def shown(self, t: Array) -> Array:
        """What the screen shows, without each reading's own error."""
        items = zip(self.beliefs.items(), t, strict=True)
        truth = {name: one.value(float(x)) for (name, one), x in items}
        gains = np.array([truth[f"range {r:g}"] for r in self.ranges])
        size = volts(truth) * (1.0 + truth["gain"]) * (1.0 + gains)
        return size + truth["excess"] * STEP_DIV * self.ranges

    def information(self, t: Array) -> Array:
        """The readings' Fisher information at one truth, by central differences."""
        columns = []
        for k, u in enumerate(self.u):
            step = np.zeros_like(t)
            step[k] = PRECISE * min(u, 0.1)
            slope = (self.shown(t + step) - self.shown(t - step)) / (2.0 * step[k])
            columns.append(slope / self.sigma)
        slopes = np.array(columns)
        return np.asarray(slopes @ slopes.T)

    def draw(self, rng: np.random.Generator) -> Array:
        """One truth; main values and the open amplitude are the board's and the evening's."""
        still = [name in PARTS or name == "open" for name in self.beliefs]
        return self.centre + np.where(still, 0.0, self.u * rng.standard_normal(self.u.size))

    def bound(self, information: Array) -> dict[str, float]:
        """The least standard error of the logarithm of every coil and capacitor."""
        covariance = np.linalg.inv(information + np.diag(self.u**-2.0))
        least = dict(zip(self.beliefs, np.sqrt(np.diag(covariance)), strict=True))
        return {name: float(least[name]) for name in PARTS if name[0] in "LC"}


HEAD = """
defaults = { source = "generator", instrument = "scope" }
sources.generator = { resistance = "50 ohm ± 5 % (k=2)", open = "@check", earthed = true }
sketch = { input = "in", ground = "gnd" }
[instruments.scope]
kind = "oscilloscope"
shared_gain = "3 %"
range_gain = "0.5 %"
step = "0.04 div"
noise = "0 mV"
return_lead = "0 ohm"
[parts]
"""
KIND = {"L": "inductor", "C": "capacitor", "R": "resistor"}


def sheet(problem: Problem, shown: Array) -> str:
    """The sheet of one replicate; every amplitude with the range it was read on."""
    lines = [HEAD]
    for name, (a, b, _, series) in PARTS.items():
        kind = KIND[name[0]]
        own = f', resistance = "{series:g} ohm ± {200 * SERIES_U:g} % (k=2)"' if series else ""
        lines.append(f'{name} = {{ kind = "{kind}"{own}, between = ["{a}", "{b}"] }}')
    read = [f"{v:.9g} Vpp @ {r:g} V/div" for v, r in zip(shown, problem.ranges, strict=True)]
    lines.append(
        f'[[readings]]\nkind = "source loading"\nname = "check"\nopen = "{read[0]}"\n'
        f'loaded = "{read[1]}"\nload = "{LOAD_OHM:g} ohm ± 0.5 % (k=2)"\nfrequency = "1 kHz"'
    )
    for k, f_hz in enumerate(F_HZ):
        three = read[2 + 3 * k : 5 + 3 * k]
        cells = ", ".join(f'{node} = "{one}"' for node, one in zip(NODES, three, strict=True))
        lines.append(
            f'[[readings]]\nkind = "probe"\nat = "in"\nfrequency = "{f_hz} Hz"\n'
            f"amplitudes = {{ {cells} }}"
        )
    return "\n".join(lines)


@dataclass(frozen=True)
class Ratio:
    """Actual rms error over the bound at each replicate's own truth, and over Van Trees' own."""

    own: float
    mean: float


def ratios(replicates: int, seed: int) -> dict[str, Ratio]:
    """For each coil and capacitor; "all" is of all of them."""
    rng, problem = np.random.default_rng(seed), Problem.make()
    names = list(problem.beliefs)
    off: dict[str, list[tuple[float, float]]] = {name: [] for name in PARTS if name[0] in "LC"}
    information = np.zeros((len(names), len(names)))
    for _ in range(replicates):
        t = problem.draw(rng)
        here = problem.information(t)
        least, information = problem.bound(here), information + here / replicates
        shown = problem.shown(t) + problem.sigma * rng.standard_normal(problem.sigma.size)
        settled = ohmbook.settle(ohmbook.read_sheet(text=sheet(problem, shown)), at_hz=1000.0)
        for name, found in off.items():
            quantity = "inductance" if name[0] == "L" else "capacitance"
            error = log(settled.estimate(name, quantity).value) - t[names.index(name)]
            found.append((error, error / least[name]))
    mean = problem.bound(information)
    squares = {
        name: (np.square(some) / (mean[name] ** 2, 1.0)).mean(axis=0) for name, some in off.items()
    }
    squares["all"] = np.mean(list(squares.values()), axis=0)
    return {n: Ratio(sqrt(float(own)), sqrt(float(m))) for n, (m, own) in squares.items()}


def main(replicates: int = 2000, seed: int = 1) -> None:
    """Run and print."""
    found = ratios(replicates, seed)
    print(f"Actual rms error over the Bayesian Cramér-Rao bound, {replicates} replicates")
    print(f"  {'':6s}{'wanted':>14s}   measured   (with the mean of F)")
    for name, ratio in found.items():
        print(f"  {name:6s}{'0.95 to 1.05':>14s}   {ratio.own:8.3f}   {ratio.mean:8.3f}")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
