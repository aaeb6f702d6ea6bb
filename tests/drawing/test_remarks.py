"""What is doubtful in a drawing is pointed at where it lies."""

from __future__ import annotations

from typing import Any

import pytest

from ohmbook.documents.drawing import Drawing
from ohmbook.documents.part import PartKind
from ohmbook.drawing.joined import Joined, joined
from ohmbook.drawing.nets import nets
from ohmbook.drawing.remarks import Drawn, Remark, differences, remarks

GROUND, INPUT = {"kind": "ground", "at": [8, 4]}, {"kind": "input", "at": [0, 0]}
SOUND: dict[str, Any] = {
    # in - L1 - w, the woofer from w to ground
    "parts": {"L1": [2, 0, 0], "woofer": [8, 0, 90]},
    "wires": [[0, 0, 2, 0], [6, 0, 8, 0]],
    "marks": [INPUT, GROUND],
}
LETTERS: dict[str, PartKind] = {"L": "inductor", "C": "capacitor", "R": "resistor"}


def seen(said: dict[str, Any], clipped: tuple[str, ...] = ()) -> Drawn:
    drawing = Drawing.model_validate(said)
    found = nets(drawing)
    kinds = {name: LETTERS.get(name[0], "driver") for name in drawing.parts}
    return Drawn(drawing, found, joined(drawing, found, clipped), kinds, clipped)


def with_(**more: Any) -> dict[str, Any]:
    """The sound one with more in it."""
    both = {**SOUND}
    for key, value in more.items():
        held = both.get(key, {} if isinstance(value, dict) else [])
        both[key] = {**held, **value} if isinstance(value, dict) else [*held, *value]
    return both


def kinds(found: tuple[Remark, ...]) -> list[str]:
    return [one.kind for one in found]


def test_nothing_is_said_of_a_sound_drawing() -> None:
    drawn = seen(SOUND)
    assert remarks(drawn) == ()
    assert drawn.joined.plain() == {
        "ground": "gnd",
        "input": "in",
        "between": {"L1": ["in", "n1"], "woofer": ["n1", "gnd"]},
    }


def test_an_empty_drawing_is_left_in_peace() -> None:
    assert remarks(seen({})) == ()


@pytest.mark.parametrize(
    ("more", "kind", "at", "part"),
    [
        ({"parts": {"C1": [8, 0, 0]}}, "floating end", (12, 0), "C1"),
        ({"parts": {"C1": [20, 20, 0]}}, "unjoined part", (22, 20), "C1"),
        ({"wires": [[8, 0, 8, -3]]}, "loose wire", (8, -3), None),
        ({"wires": [[30, 0, 34, 0]]}, "loose wire", (30, 0), None),
        (
            {"parts": {"C1": [8, 0, 0]}, "wires": [[8, 0, 8, -2, 12, -2, 12, 0]]},
            "shorted part",
            (10, 0),
            "C1",
        ),
        ({"parts": {"C1": [8, 0, 90]}}, "same place", (8, 2), "C1"),
        (
            {"names": [{"name": "a", "at": [7, 0]}, {"name": "b", "at": [8, 0]}]},
            "two names",
            (7, 0),
            None,
        ),
        ({"marks": [{"kind": "input", "at": [8, 0]}]}, "second input", (8, 0), None),
        (
            {"parts": {"C1": [20, 0, 0], "R1": [24, 0, 180]}, "wires": [[20, 0, 20, 0 + 1, 24, 1]]},
            "shorted part",
            (22, 0),
            "C1",
        ),
    ],
)
def test_a_doubt_is_pointed_at(
    more: dict[str, Any], kind: str, at: tuple[int, int], part: str | None
) -> None:
    if kind == "shorted part" and part == "C1" and at == (22, 0):
        more["wires"] = [[20, 0, 20, 1, 24, 1, 24, 0]]
    found = [one for one in remarks(seen(with_(**more))) if one.kind == kind]
    assert found, kinds(remarks(seen(with_(**more))))
    assert any(at in one.at for one in found)
    assert part is None or any(part in one.parts for one in found)


def test_what_hangs_does_not_count_and_the_rest_does() -> None:
    drawn = seen(with_(parts={"C1": [8, 0, 0], "R1": [12, 0, 0]}))
    assert set(drawn.joined.between) == {"L1", "woofer"}
    assert drawn.joined.left_out == ("C1", "R1")
    held = seen(with_(parts={"C1": [8, 0, 0]}), clipped=("n2",))
    assert "C1" in held.joined.between, "a reading clips something to its other end"


def test_an_island_is_told() -> None:
    ring = {"C1": [20, 0, 0], "R1": [20, 4, 0]}
    drawn = seen(with_(parts=ring, wires=[[20, 0, 20, 4], [24, 0, 24, 4]]))
    (found,) = remarks(drawn)
    assert found.kind == "island"
    assert found.parts == ("C1", "R1")


@pytest.mark.parametrize(
    ("left", "kind"), [([INPUT], "no ground"), ([GROUND], "no input")], ids=["ground", "input"]
)
def test_a_mark_that_is_missing_is_told(left: list[Any], kind: str) -> None:
    assert kind in kinds(remarks(seen({**SOUND, "marks": left})))


def test_a_missing_output_is_told() -> None:
    said = {**SOUND, "parts": {"L1": [2, 0, 0], "R1": [8, 0, 90]}}
    assert kinds(remarks(seen(said))) == ["no output"]
    marked = {**said, "marks": [*SOUND["marks"], {"kind": "output", "name": "out", "at": [8, 0]}]}
    assert remarks(seen(marked)) == ()
    assert dict(seen(marked).joined.outputs) == {"out": "n1"}


def test_without_ground_nothing_counts() -> None:
    assert seen({**SOUND, "marks": [INPUT]}).joined.between == {}


def test_a_return_of_its_own_makes_the_input_a_pair() -> None:
    said = with_(parts={"R1": [8, 8, 180]}, wires=[[8, 8, 8, 4], [4, 8, 0, 8]])
    said["marks"] = [*said["marks"], {"kind": "return", "at": [0, 8]}]
    assert seen(said).joined.input == ("in", "n2")


def arm(driver: str, parts: dict[str, list[int]], **more: Any) -> list[Remark]:
    said: dict[str, Any] = {"parts": {**parts, driver: [20, 0, 90]}}
    said["wires"] = [[0, 0, 2, 0], [6, 0, 8, 0], [12, 0, 20, 0], *more.get("wires", [])]
    said["marks"] = [INPUT, {"kind": "ground", "at": [20, 4]}, *more.get("marks", [])]
    return [one for one in remarks(seen(said)) if one.kind == "series capacitor"]


SHUNT = {"marks": [{"kind": "ground", "at": [16, 4]}]}


def test_a_capacitor_in_series_with_a_woofer_is_flagged() -> None:
    """A board of that kind exists; such topologies are flagged and never mended."""
    (found,) = arm("woofer", {"L1": [2, 0, 0], "C1": [8, 0, 0]})
    assert found.parts == ("C1", "woofer")
    assert found.at == ((10, 0),)
    (found,) = arm("driver 1", {"L1": [2, 0, 0], "C1": [8, 0, 0], "C2": [16, 0, 90]}, **SHUNT)
    assert found.parts == ("C1", "driver 1")


def test_a_band_pass_and_a_tweeter_are_not() -> None:
    assert arm("mid", {"C1": [2, 0, 0], "L1": [8, 0, 0], "L2": [16, 0, 90]}, **SHUNT) == []
    assert arm("tweeter", {"C1": [2, 0, 0], "C2": [8, 0, 0], "L2": [16, 0, 90]}, **SHUNT) == []


def test_a_circuit_that_is_not_the_one_drawn_is_told() -> None:
    drawn = seen(SOUND)
    same = Joined({"L1": ("n1", "in"), "woofer": ("n1", "gnd")})
    assert differences(drawn, same) == (), "a coil may be turned round"
    other = Joined({"L1": ("in", "n1"), "woofer": ("gnd", "n1")})
    (found,) = differences(drawn, other)
    assert found.parts == ("woofer",)
    assert "between gnd and n1 in the sheet" in found.message
