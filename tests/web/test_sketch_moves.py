"""What is moved or turned on the sketch stays joined: the page moves, the server's nets look."""

from __future__ import annotations

import random
from itertools import combinations
from typing import Any

from playwright.sync_api import Page

from ohmbook.documents.drawing import Drawing
from ohmbook.drawing.nets import nets
from tests.web.conftest import Served

MOVE = """async ({drawings, moves}) => {
  const model = await import("/static/js/sketch/model.js");
  const chosen = await import("/static/js/sketch/chosen.js");
  return drawings.map((drawing, k) => {
    const raw = {kind: "resistor"};
    const parts = Object.keys(drawing.parts).map((name) => ({name, raw, base: 0}));
    const {state} = model.fromLook({drawing, parts}, null);
    const ids = Object.keys(state.parts);
    const picked = new Set(moves[k].parts.map((one) => `part:${ids[one % ids.length]}`));
    return [
      state,
      chosen.moved(state, picked, moves[k].by),
      chosen.turnedParts(state, picked),
      chosen.without(state, new Set([...picked].slice(0, 1)), () => false),
    ].map(model.toDrawing);
  });
}"""


def random_drawing(dice: random.Random) -> dict[str, Any]:
    places = {
        f"R{k}": [dice.randrange(5) * 6, dice.randrange(4) * 6, dice.choice([0, 90, 180, 270])]
        for k in range(dice.randint(2, 5))
    }
    drawing = Drawing.model_validate({"parts": places})
    spots = [spot for name in places for spot in drawing.ends(name)]
    wires = []
    for _ in range(dice.randrange(5)):
        (ax, ay), (bx, by) = dice.choice(spots), dice.choice(spots)
        if ax == bx or ay == by:
            wires += [[ax, ay, bx, by]] if (ax, ay) != (bx, by) else []
        else:
            wires.append([ax, ay, *dice.choice([(bx, ay), (ax, by)]), bx, by])
    return {"parts": places, "wires": wires, "junctions": [list(dice.choice(spots))]}


def joined(drawing: dict[str, Any]) -> set[frozenset[tuple[str, int]]]:
    """Which two ends are on one node."""
    found = nets(Drawing.model_validate(drawing))
    return {frozenset(pair) for net in found for pair in combinations(net.ends, 2)}


def test_moving_and_turning_part_nothing(empty: Served, page: Page, faults: list[str]) -> None:
    page.goto(empty.address)
    dice = random.Random(6)
    drawings = [random_drawing(dice) for _ in range(300)]
    moves = [
        {
            "parts": [dice.randrange(9) for _ in range(dice.randint(1, 3))],
            "by": [dice.randint(-5, 5), dice.randint(-5, 5)],
        }
        for _ in drawings
    ]
    after = page.evaluate(MOVE, {"drawings": drawings, "moves": moves})
    assert sum(bool(joined(one)) for one in drawings) > 200
    for drawing, (same, moved, turned, without) in zip(drawings, after, strict=True):
        assert joined(same) == joined(drawing)
        assert joined(moved) >= joined(drawing)
        assert joined(turned) >= joined(drawing)
        left = {one for one in joined(drawing) if all(part in without["parts"] for part, _ in one)}
        assert joined(without) == left


def test_a_joint_joins_what_crosses_and_parts_it_again(
    empty: Served, page: Page, faults: list[str]
) -> None:
    page.goto(empty.address)
    crossing = {
        "parts": {"R1": [0, 0, 180], "R2": [4, -4, 270], "R3": [8, 0, 0], "R4": [4, 4, 90]},
        "wires": [[0, 0, 8, 0], [4, -4, 4, 4]],
    }
    script = """async (drawing) => {
      const model = await import("/static/js/sketch/model.js");
      const parts = Object.keys(drawing.parts).map((name) => ({name, raw: {kind: "resistor"}, base: 0}));
      const {state} = model.fromLook({drawing, parts}, null);
      const once = model.withJoint(state, [4, 0]);
      const twice = model.withJoint(once, [4, 0]);
      return [state, once, twice, model.withJoint(twice, [4, 0])].map(model.toDrawing);
    }"""  # noqa: E501
    before, once, twice, thrice = page.evaluate(script, crossing)
    assert joined(before) == joined(twice) == joined(crossing)
    assert len(joined(crossing)) == 2
    assert len(joined(once)) == len(joined(thrice)) == 6
