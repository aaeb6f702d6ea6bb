"""`capture`: what is in a file that an instrument or a sound card wrote."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ohmbook.cli.screen import emit, progress
from ohmbook.errors import CallError


def capture(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="CSV, WAV, Touchstone or columns.")],
    *,
    answer: Annotated[
        list[str] | None,
        typer.Option("--answer", metavar="KEY=VALUE", help="To what was asked: 'interval=2 us'."),
    ] = None,
    resistor: Annotated[
        str,
        typer.Option(
            "--resistor", metavar="R", help="The reference resistor in series: '100 ohm ± 1 %'."
        ),
    ] = "",
    part: Annotated[str, typer.Option("--part", metavar="NAME", help="What was read.")] = "",
    figures: Annotated[
        Path | None,
        typer.Option("--figures", metavar="DIR", help="Draw it there, as SVG and PNG."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON document, nothing else.")] = (
        False
    ),
) -> None:
    """What is in a capture file, what it leaves open, and what it tells of a part.

    Behind a known resistor, two channels tell the part's impedance, as a reading for a sheet:
    --answer input=NAME says which channel was on the source's side, across=NAME which was on the
    part, and on=resistor that it was on the resistor instead.
    """
    from ohmbook.job import capture_pages
    from ohmbook.job.capturing import Clipped, look

    with progress("Reading it") as bar:
        found = look(file, answers(answer or []), Clipped(part, resistor), bar)
    written = capture_pages.write(found, figures)
    emit(as_json, found.document, lambda: capture_pages.pages(found, written))


def answers(given: list[str]) -> dict[str, str]:
    """KEY=VALUE as a mapping.

    Raises:
        CallError: there is no "=" in one.
    """
    found = {}
    for one in given:
        key, sign, value = one.partition("=")
        if not sign:
            raise CallError(f"--answer '{one}' has no \"=\"; expected --answer 'interval=2 us'.")
        found[key.strip()] = value.strip()
    return found
