"""`coil`, `capacitor` and `resistor`: one part, no file."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ohmbook.cli.choices import Kind, command
from ohmbook.cli.screen import emit

DOCS: dict[Kind, str] = {
    "coil": """One coil from one reading, without a file.

    The least: ohmbook coil --source '50 ohm ± 5 %' --half-at '5.6 kHz'
    """,
    "capacitor": """One capacitor from one reading, without a file.

    The least: ohmbook capacitor --source '50 ohm ± 5 %' --half-at '600 Hz'
    """,
    "resistor": """One resistor, from a divider or an ohmmeter, without a file.

    The least: ohmbook resistor --resistance '8.4 ohm' --leads '0.2 ohm'
    """,
}


def commands() -> dict[Kind, Callable[..., None]]:
    """The three commands, made from the table of choices."""
    return {kind: command(kind, run, doc) for kind, doc in DOCS.items()}


def run(kind: Kind, written: Mapping[str, str], *, working: bool, as_json: bool) -> None:
    """Work one part out from what was written, and show it."""
    from ohmbook.job import pages
    from ohmbook.job.single import settle_single

    settled = settle_single(kind, written)
    emit(as_json, settled.document, lambda: pages.single_pages(settled, kind, working))
