"""From bench readings to part values and crossover behaviour, with an honest uncertainty.

    import ohmbook
    sheet = ohmbook.read_sheet("board.toml")
    settled = ohmbook.settle(sheet)
    shown = ohmbook.behaviour(settled, draws=1000)
    wanted = ohmbook.next_readings(settled)

Names are loaded when first used, so that `ohmbook --help` does not wait for numerics.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from ohmbook.errors import OhmbookError

if TYPE_CHECKING:
    from ohmbook.crossover.behaviour import Behaviour
    from ohmbook.documents.reading import Sheet
    from ohmbook.job import NextReadings, Settled, behaviour, next_readings, settle
    from ohmbook.sheet.read import read_sheet

__version__ = "0.1.0"

_HOME = {
    "Behaviour": "ohmbook.crossover.behaviour",
    "NextReadings": "ohmbook.job",
    "Settled": "ohmbook.job",
    "Sheet": "ohmbook.documents.reading",
    "behaviour": "ohmbook.job",
    "next_readings": "ohmbook.job",
    "read_sheet": "ohmbook.sheet.read",
    "settle": "ohmbook.job",
}

__all__ = [
    "Behaviour",
    "NextReadings",
    "OhmbookError",
    "Settled",
    "Sheet",
    "__version__",
    "behaviour",
    "next_readings",
    "read_sheet",
    "settle",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'ohmbook' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)
