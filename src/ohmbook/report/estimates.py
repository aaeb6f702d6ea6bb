"""The table of values: what each part is, how well it is known, and from what."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.estimate import Estimate
from ohmbook.report.layout import Adaptive, joined, table
from ohmbook.report.words import how_well, is_main
from ohmbook.units.show import show, show_interval, show_plain

_WIDE = 76


def estimates_table(estimates: Sequence[Estimate]) -> RenderableType:
    """Every estimate with its interval, how well it is known, and from what.

    Args:
        estimates: in the order to be shown; a part's main quantity before its others.
    """
    return Adaptive(lambda: _wide(estimates), lambda: _narrow(estimates), _WIDE)


def value_text(estimate: Estimate) -> str:
    """The value with its interval; the value alone where it is exact."""
    if estimate.low >= estimate.high:
        return show(estimate.value, estimate.unit)
    return show_interval(
        estimate.value,
        estimate.low,
        estimate.high,
        estimate.unit,
        estimate.standard_uncertainty,
    )


def note(estimate: Estimate) -> str:
    """What an estimate rests on, and at which frequency it holds."""
    said = [estimate.basis] if estimate.basis else []
    if not said and not estimate.determined:
        said = ["not told by the readings"]
    if estimate.frequency_hz is not None and "not read" not in said:
        said.append(f"at {show_plain(estimate.frequency_hz, 'Hz', 2)}")
    return ", ".join(said)


def _style(estimate: Estimate) -> str:
    return "" if estimate.determined else "dim"


def _label(estimate: Estimate, every: Sequence[Estimate]) -> str:
    return estimate.name if is_main(estimate, every) else "  in series"


def _wide(estimates: Sequence[Estimate]) -> RenderableType:
    rows = [
        [
            Text(text, style=_style(one))
            for text in (_label(one, estimates), value_text(one), how_well(one), note(one))
        ]
        for one in estimates
    ]
    return table(("part", "value (95 % interval)", ">how well", "known from"), rows)


def _narrow(estimates: Sequence[Estimate]) -> RenderableType:
    lines = []
    for one in estimates:
        lines.append(Text(f"{_label(one, estimates)}  {value_text(one)}", style=_style(one)))
        said = ", ".join(text for text in (how_well(one), note(one)) if text)
        lines.append(Text(f"    {said}", style="dim"))
    return joined(lines)
