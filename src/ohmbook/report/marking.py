"""The meanings of a marking, ranked, with the reasons."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from ohmbook.report.layout import joined, section
from ohmbook.report.words import chance, percent
from ohmbook.units.marking.meaning import Meaning
from ohmbook.units.show import show_plain


def marking_page(text: str, meanings: Sequence[Meaning]) -> RenderableType:
    """Every meaning, the likeliest first.

    Args:
        text: the marking as it stands on the part.
        meanings: ranked, their probabilities in 0 to 1.
    """
    return section(
        f'What "{text}" can mean', joined(_told(number, one) for number, one in _numbered(meanings))
    )


def marking_document(text: str, meanings: Sequence[Meaning]) -> dict[str, Any]:
    """The same as a JSON object."""
    return {"marking": text, "meanings": [_document(one) for one in meanings]}


def _numbered(meanings: Sequence[Meaning]) -> list[tuple[int, Meaning]]:
    return list(enumerate(meanings, 1))


def _told(number: int, meaning: Meaning) -> RenderableType:
    head = f"{number}. {show_plain(meaning.value, meaning.unit, 4)}{_tolerance(meaning)}"
    told = Text(head, style="bold")
    told.append(f"  {meaning.kind}{_ratings(meaning)}, {chance(meaning.probability)}", style="")
    for line in (meaning.reading, *meaning.reasons):
        told.append(f"\n   {line}", style="dim")
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
