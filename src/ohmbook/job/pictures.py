"""The figures of a settled sheet: response, impedance, schematic, readings, set-ups."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from ohmbook.crossover.behaviour import Behaviour
from ohmbook.crossover.wiring import crossover_network
from ohmbook.documents.estimate import Estimate
from ohmbook.documents.part import Driver
from ohmbook.documents.setup import SetUp
from ohmbook.figures.impedance import impedance_figure
from ohmbook.figures.readings import readings_figure
from ohmbook.figures.response import response_figure
from ohmbook.figures.saving import save
from ohmbook.figures.schematic import schematic_figure
from ohmbook.figures.setups import setup_figure
from ohmbook.job.settled import Settled
from ohmbook.job.strips import share_figures
from ohmbook.units.show import show, show_plain, split_interval

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Named = tuple[str, "Figure"]


def write_figures(settled: Settled, behaviour: Behaviour | None, folder: Path) -> tuple[Path, ...]:
    """Write every figure of a settled sheet, each as SVG and PNG.

    Args:
        settled: what was settled.
        behaviour: what its crossover does; None where the sheet has no whole crossover.
        folder: made where it isn't there.

    Returns:
        The files, in order.

    Raises:
        OhmbookError: the folder cannot be written to.
    """
    title = settled.sheet.title or settled.sheet.file
    figures: list[Named] = []
    if behaviour is not None:
        figures += [
            ("response", response_figure(behaviour, title)),
            ("impedance", impedance_figure(behaviour)),
            ("schematic", _schematic(settled, title)),
        ]
    spreads = () if behaviour is None else behaviour.spread
    figures += [*share_figures(settled, spreads), *_readings(settled), *_set_ups(settled)]
    return tuple(path for name, figure in figures for path in save(figure, folder, name))


def _schematic(settled: Settled, title: str) -> Figure:
    sketch, parts = settled.sheet.sketch, settled.sheet.parts
    places = {} if sketch is None else sketch.outputs
    outputs = {
        name: place if isinstance(place, str) else place[0]
        for name, place in places.items()
        if name not in parts
    }
    network = crossover_network(sketch, parts)
    return schematic_figure(network, _labels(settled), title, _drivers(settled), outputs)


def _readings(settled: Settled) -> Iterator[Named]:
    """For each part, what each reading alone says beside what all of them say."""
    for one in _mains(settled):
        rows = settled.implied(one.name)
        if len(rows) > 1:
            whose = "output " if one.name in settled.sheet.sources else ""
            title = f"{one.name}: {whose}{one.quantity}"
            yield f"readings-{one.name}", readings_figure(rows, title, one.unit)


def _set_ups(settled: Settled) -> Iterator[Named]:
    """Each set-up once, however many readings were taken in it."""
    different = list(dict.fromkeys(set_up for _, set_up in settled.set_ups))
    for number, set_up in enumerate(different, 1):
        labels = {**_loads(settled, set_up), **_labels(settled)}
        figure = setup_figure(set_up, labels, _drivers(settled))
        yield f"set-up-{number}", figure


def _loads(settled: Settled, set_up: SetUp) -> dict[str, str]:
    """The resistance of what was put in for a reading alone: a load, a series resistor."""
    found = {
        branch.owner: settled.answer.value((branch.owner, "resistance"))
        for branch in set_up.network.branches
        if branch.owner not in set_up.leads
    }
    return {one: show_plain(ohms, "ohm") for one, ohms in found.items() if ohms}


def _drivers(settled: Settled) -> tuple[str, ...]:
    return tuple(name for name, part in settled.sheet.parts.items() if isinstance(part, Driver))


def _mains(settled: Settled) -> list[Estimate]:
    """The main estimate of each part and source: its first."""
    firsts: dict[str, Estimate] = {}
    for one in settled.estimates:
        firsts.setdefault(one.name, one)
    return list(firsts.values())


def _labels(settled: Settled) -> dict[str, str]:
    """What stands beside each symbol: the settled value, to the digits that are known."""
    labels = {
        name: show(part.rated.value, "ohm")
        for name, part in settled.sheet.parts.items()
        if isinstance(part, Driver)
    }
    return labels | {one.name: _value(one) for one in _mains(settled)}


def _value(one: Estimate) -> str:
    shown = split_interval(one.value, one.low, one.high, one.unit, one.standard_uncertainty)
    return f"{shown.value} {shown.unit}"
