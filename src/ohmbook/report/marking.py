"""The meanings of a marking, ranked, with the reasons."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from ohmbook.report.layout import bullets, section
from ohmbook.report.words import chance, percent
from ohmbook.units.marking.meaning import Meaning
from ohmbook.units.show import show, show_plain

_LEAST = 0.01


def marking_page(text: str, meanings: Sequence[Meaning]) -> RenderableType:
    """The meanings worth telling, the likeliest first.

    Args:
        text: the marking as it stands on the part.
        meanings: ranked, their probabilities in 0 to 1.
    """
    shown = [one for place, one in enumerate(meanings) if place < 3 or one.probability >= _LEAST]
    told = [bullets([_told(one)], f"{number}.") for number, one in enumerate(shown, 1)]
    left_out = len(meanings) - len(shown)
    if left_out:
        told.append(bullets([f"{left_out} more, each under 1 %: --json lists them"], "..."))
    return section(f'What "{text}" can mean', *told)


def marking_document(text: str, meanings: Sequence[Meaning]) -> dict[str, Any]:
    """The same as a JSON object."""
    return {"marking": text, "meanings": [_document(one) for one in meanings]}


def _told(meaning: Meaning) -> Text:
    told = Text(f"{show(meaning.value, meaning.unit)}{_tolerance(meaning)}", style="bold")
    told.append(f"  {meaning.kind}{_ratings(meaning)}, {chance(meaning.probability)}", style="")
    for line in (meaning.reading, *meaning.reasons):
        told.append(f"\n{line}", style="dim")
    return told


def _tolerance(meaning: Meaning) -> str:
    tolerance = meaning.tolerance
    if tolerance is None:
        return ""
    if isinstance(tolerance, tuple):
        low, high = tolerance
        return f" {percent(low)} +{percent(high)}"
    return f" ±{percent(tolerance)}"


def _ratings(meaning: Meaning) -> str:
    said = []
    if meaning.volts is not None:
        kind = f" {meaning.volts_kind}" if meaning.volts_kind else ""
        said.append(f"{show_plain(meaning.volts, 'V', 3)}{kind}")
    if meaning.watts is not None:
        said.append(show_plain(meaning.watts, "W", 2))
    if meaning.bipolar:
        said.append("bipolar")
    return f" ({', '.join(said)})" if said else ""


def _document(meaning: Meaning) -> dict[str, Any]:
    tolerance = meaning.tolerance
    return {
        "kind": meaning.kind,
        "value": meaning.value,
        "unit": meaning.unit,
        "tolerance": list(tolerance) if isinstance(tolerance, tuple) else tolerance,
        "probability": meaning.probability,
        "reading": meaning.reading,
        "reasons": list(meaning.reasons),
        "volts": meaning.volts,
        "volts_kind": meaning.volts_kind,
        "watts": meaning.watts,
        "bipolar": meaning.bipolar,
    }
