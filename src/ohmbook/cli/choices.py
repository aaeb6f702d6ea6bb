"""The options of `coil`, `capacitor` and `resistor`: one table, from which the commands are made.

Each name is also the key under which `ohmbook.job.single` gets what was written.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import typer

Kind = Literal["coil", "capacitor", "resistor"]


@dataclass(frozen=True, slots=True)
class Choice:
    """One option: its key (`half_at` is `--half-at`), an example as its metavar, its help."""

    key: str
    example: str
    help: str
    kinds: tuple[Kind, ...] = ("coil", "capacitor", "resistor")


CHOICES: tuple[Choice, ...] = (
    Choice(
        "source",
        "'50 ohm ± 5 %'",
        "The generator's output resistance, as the manual says or as measured.",
    ),
    Choice(
        "half_at",
        "'5.6 kHz'",
        "Frequency at which the amplitude falls to half of the open one.",
        ("coil", "capacitor"),
    ),
    Choice("open", "'4.12 Vpp'", "Amplitude with nothing connected."),
    Choice("across", "'2.06 Vpp'", "Amplitude with the part connected."),
    Choice("frequency", "'5.6 kHz'", "Frequency at which --across was read."),
    Choice("resistor", "'100.2 ohm'", "A resistor in series besides the generator's own."),
    Choice("probe_on", "part|resistor", "What --across was read on; the part, unless said."),
    Choice("loaded", "'2.40 Vpp'", "The generator's amplitude with --load across it."),
    Choice("load", "'178.2 ohm'", "The resistor behind --loaded: this measures the generator."),
    Choice("loaded_at", "'1 kHz'", "Frequency at which --loaded was read."),
    Choice(
        "resistance",
        "'0.5 ohm'",
        "What an ohmmeter shows across the part, leads not subtracted.",
        ("coil", "resistor"),
    ),
    Choice("leads", "'0.2 ohm'", "What it shows with its leads touching.", ("coil", "resistor")),
    Choice(
        "meter",
        "'0.8 % + 2 digits'",
        "How far the ohmmeter may be off; this much, unless said.",
        ("coil", "resistor"),
    ),
    Choice("marking", "0.82", "What is printed on the part."),
    Choice(
        "like",
        "'entry-level scope'",
        "What kind of scope read the amplitudes; this one, unless said.",
    ),
)

JSON = inspect.Parameter(
    "as_json",
    inspect.Parameter.KEYWORD_ONLY,
    default=False,
    annotation=Annotated[bool, typer.Option("--json", help="One JSON document, nothing else.")],
)
WORKING = inspect.Parameter(
    "working",
    inspect.Parameter.KEYWORD_ONLY,
    default=False,
    annotation=Annotated[bool, typer.Option("--working", help="Work it out step by step.")],
)


def of(kind: Kind) -> tuple[Choice, ...]:
    """The options that a kind of part has."""
    return tuple(choice for choice in CHOICES if kind in choice.kinds)


def signature(kind: Kind) -> inspect.Signature:
    """The signature of a kind's command, as typer reads it."""
    options = [
        inspect.Parameter(
            choice.key,
            inspect.Parameter.KEYWORD_ONLY,
            default=None,
            annotation=Annotated[
                str | None,
                typer.Option(
                    "--" + choice.key.replace("_", "-"), metavar=choice.example, help=choice.help
                ),
            ],
        )
        for choice in of(kind)
    ]
    return inspect.Signature([*options, WORKING, JSON], return_annotation=None)


def command(kind: Kind, run: Callable[..., None], doc: str) -> Callable[..., None]:
    """A kind's command: `run(kind, written, working=..., as_json=...)` behind its signature."""

    def adapter(**given: Any) -> None:
        flags = {flag: given.pop(flag) for flag in ("working", "as_json")}
        run(kind, {key: text for key, text in given.items() if text is not None}, **flags)

    adapter.__doc__ = doc
    adapter.__signature__ = signature(kind)  # type: ignore[attr-defined]
    return adapter
