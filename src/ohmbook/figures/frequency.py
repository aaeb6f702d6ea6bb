"""The frequency axis that every response shares."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_STEPS = (1.0, 2.0, 5.0)


def frequency_ticks(low_hz: float, high_hz: float) -> list[tuple[float, str]]:
    """The 1-2-5 frequencies inside a range, with their labels.

    Args:
        low_hz: lower end, above 0.
        high_hz: upper end.

    Returns:
        Frequency in hertz and label: 20, 50, 100, ... 1k, 2k, ... 20k.
    """
    slack = 1e-9
    every = [step * 10.0**decade for decade in range(-3, 10) for step in _STEPS]
    inside = [f for f in every if low_hz * (1.0 - slack) <= f <= high_hz * (1.0 + slack)]
    return [(f, _label(f)) for f in inside]


def _label(f_hz: float) -> str:
    for factor, letter in ((1e6, "M"), (1e3, "k")):
        if f_hz >= factor:
            return f"{f_hz / factor:g}{letter}"
    return f"{f_hz:g}"


def set_frequency_axis(axes: Axes, low_hz: float, high_hz: float, labelled: bool = True) -> None:
    """Make the x axis a logarithmic frequency axis.

    Args:
        axes: whose x axis it is.
        low_hz: lower end, above 0.
        high_hz: upper end.
        labelled: whether the numbers and the name are shown.
    """
    axes.set_xscale("log")
    axes.set_xlim(low_hz, high_hz if high_hz > low_hz else low_hz * 1.1)
    ticks = frequency_ticks(low_hz, high_hz)
    axes.set_xticks([f for f, _ in ticks], [text if labelled else "" for _, text in ticks])
    axes.set_xticks([], minor=True)
    if labelled:
        axes.set_xlabel("frequency in Hz")
