"""The library door: composes the rooms below into settle, behaviour, next."""

from __future__ import annotations

from ohmbook.counsel.next import NextReadings
from ohmbook.job.crossing import behaviour
from ohmbook.job.settled import Settled, settle
from ohmbook.job.wanted import next_readings

__all__ = ["NextReadings", "Settled", "behaviour", "next_readings", "settle"]
