"""Circuits that cannot be, and answers without digits, as a person at the command line meets them.

The messages are the project's own; no outside source.
"""

from __future__ import annotations

import json
import re

import pytest

from ohmbook.cli import exits

from .test_commands import BOARD, run

LINE = 'tweeter = { kind = "driver", rated = "8 ohm", between = ["t", "gnd"] }\n'
SKETCH = 'sketch = { input = "in", ground = "gnd" }'


def sheet(parts: str = "", sketch: str = SKETCH, old: str = "", new: str = "") -> str:
    """The board with more parts, another sketch, or something else in it."""
    assert LINE in BOARD
    assert SKETCH in BOARD
    assert old in BOARD
    text = BOARD.replace(LINE, LINE + parts + "\n" * bool(parts)).replace(SKETCH, sketch)
    return text.replace(old, new) if old else text


def part(name: str, kind: str, value: str, *nodes: str) -> str:
    said = "rated" if kind == "driver" else "value"
    return f'{name} = {{ kind = "{kind}", {said} = "{value}", between = {json.dumps(nodes)} }}'


ACROSS = 'sketch = { input = ["in", "w"], ground = "gnd" }'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        pytest.param(
            sheet(
                part("C9", "capacitor", "1 uF", "x", "y")
                + "\n"
                + part("R9", "resistor", "1 ohm", "x", "y")
            ),
            'standard input, line 12, part C9, between: the parts "C9", "R9" (nodes "x", "y") '
            "hang in the air: no part leads from there to the input or to ground",
            id="parts in the air",
        ),
        pytest.param(
            sheet(part("horn", "driver", "8 ohm", "x", "gnd")),
            'standard input, line 12, part horn, between: node "x" has only horn on it (expected '
            "a second part there, or the input, an output or ground)",
            id="a driver on a node of its own",
        ),
        pytest.param(
            sheet(sketch=SKETCH.replace(" }", ', outputs = { horn = "x" } }')),
            'standard input, line 5, [sketch], outputs.horn: no part is on node "x"; expected one '
            'of "in", "w", "t", "gnd"',
            id="an output on no part",
        ),
        pytest.param(
            sheet(
                sketch=ACROSS,
                old='["w", "gnd"]',
                new='["w", "in"]',
            ).replace('["in", "t"]', '["t", "gnd"]'),
            'The nodes "t", "gnd" hang in the air: no part leads from there to the input ("in", '
            '"w"), so the output "tweeter" cannot be worked out.',
            id="an output beside the circuit",
        ),
        pytest.param(
            sheet(part("R9", "resistor", "0 ohm", "in", "gnd")),
            'A source without resistance stands across a short: "R9" joins its terminals "in" and '
            '"gnd", without resistance either. Give the part or the source the resistance it has.',
            id="a short across the input",
        ),
        pytest.param(
            sheet(
                part("R8", "resistor", "0 ohm", "in", "x")
                + "\n"
                + part("R9", "resistor", "0 ohm", "x", "gnd")
            ),
            'A source without resistance stands across a short: "R8", "R9" join its terminals '
            '"in" and "gnd", without resistance either. Give the part or the source the resistance '
            "it has.",
            id="a short in two parts",
        ),
        pytest.param(
            sheet(sketch='sketch = { input = "gnd", ground = "gnd" }'),
            'standard input, line 5, [sketch], input: both ends are on node "gnd"; expected two '
            "nodes",
            id="input at ground",
        ),
        pytest.param(
            sheet(part("R9", "resistor", "1 ohm", "in", "in")),
            'standard input, line 12, part R9, between: both ends of "R9" are on node "in"; '
            "expected two nodes",
            id="a part with both ends on one node",
        ),
        pytest.param(
            sheet(part("L1", "inductor", "1 mH", "in", "w")),
            'standard input, line 12: part "L1" stands twice, first on line 8; each name can '
            "stand once",
            id="two parts of one name",
        ),
    ],
)
def test_a_circuit_that_cannot_be_is_told_whole(text: str, message: str) -> None:
    done = run("behaviour", "-", "--draws", "20", typed=text)
    assert done.exit_code == exits.DATA_AT_FAULT
    assert done.stderr == f"ohmbook: {message}\n"
    assert done.stdout == ""


def bridge(ohm: str) -> str:
    parts = [
        part("R6", "resistor", "10 ohm", "in", "p"),
        part("R7", "resistor", "20 ohm", "p", "gnd"),
        part("R8", "resistor", "30 ohm", "in", "q"),
        part("R9", "resistor", ohm, "q", "gnd"),
    ]
    outputs = SKETCH.replace(" }", ', outputs = { null = ["p", "q"] } }')
    return sheet("\n".join(parts), outputs)


def test_digits_lost_are_told_on_the_page_and_in_the_document() -> None:
    """An output across a bridge that is balanced to one part in 6e8."""
    options = ("--draws", "20", "--frequencies", "100", "10 kHz", "11")
    page = run("behaviour", "-", *options, typed=bridge("60.0000001 ohm"))
    assert page.exit_code == exits.DONE
    plain = re.sub(r"\s+", " ", page.stdout)
    assert "How far these results go" in plain
    assert (
        'Hz, the worst of 11 frequencies, 9 of the 16 digits of the output "null" are lost: large '
        "amounts cancel there" in plain
    )
    found = json.loads(
        run("behaviour", "-", "--json", *options, typed=bridge("60.0000001 ohm")).stdout
    )
    (told,) = found["findings"]
    assert told["kind"] == "limit"
    assert told["parts"][0] in {"R6", "R7", "R8", "R9"}
    assert 'of the output "null" are lost' in told["message"]


def test_an_ordinary_bridge_is_not_told() -> None:
    page = run("behaviour", "-", "--draws", "0", typed=bridge("60.1 ohm"))
    assert page.exit_code == exits.DONE
    assert "digits" not in page.stdout
