"""The study of planned boards, small: a first-order one, where a plain grid can't see the coil."""

from __future__ import annotations

from functools import partial

from benchmarks import simulate
from benchmarks.planned_boards import (
    COILS_AND_CAPACITORS,
    TOLERANCE,
    gridded,
    planned,
    read_by,
    table,
)


def test_planned_boards_are_known_and_plain_grids_beaten() -> None:
    ways = {
        "plan of 10": partial(planned, goes=(9,), want=COILS_AND_CAPACITORS),
        "plan in two goes": partial(planned, goes=(6, 3), want=COILS_AND_CAPACITORS),
        "grid": partial(gridded, frequencies=(100.0, 1000.0, 5000.0)),
    }
    found = read_by(simulate.first_order, False, ways, [31])
    for name in ("plan of 10", "plan in two goes"):
        assert all(one.worst_unnamed < TOLERANCE for one in found[name])
        assert all(one.numbers <= 10 for one in found[name])
    assert min(one.worst for one in found["grid"]) > 0.2
    told = "\n".join(table(found, "5.0 %"))
    assert "plan of 10: 1 boards, at most 10 numbers" in told
    assert "boards with every part within 5 %" in told
