"""Which readings would help most now."""

from __future__ import annotations

from ohmbook.counsel.next import NextReadings, rank
from ohmbook.job.settled import Settled


def next_readings(settled: Settled, *, count: int = 5) -> NextReadings:
    """The readings that would improve the parts' values most, each after the ones before it.

    Args:
        settled: the state of things.
        count: how many at most.
    """
    return rank(settled.answer, count)
