"""The commands that read a sheet or a marking: parse, call the library door, show."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ohmbook.cli import given
from ohmbook.cli.screen import emit, progress, show, show_text

Sheet = Annotated[
    str,
    typer.Argument(
        metavar="SHEET", help="A bench sheet, - for standard input, or a notebook's board."
    ),
]
Json = Annotated[bool, typer.Option("--json", help="One JSON document, nothing else.")]
Figures = Annotated[
    Path | None,
    typer.Option("--figures", metavar="DIR", help="Write the figures there, as SVG and PNG."),
]


def demo(
    figures: Annotated[
        Path, typer.Option("--figures", metavar="DIR", help="Where the figures are written.")
    ] = Path("out/demo"),
) -> None:
    """The whole job on the built-in board: tables, findings, figures."""
    from ohmbook.job import pages

    show(pages.demo_pages(figures))


def start(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The sheet to write.")],
    kind: Annotated[
        str,
        typer.Option(
            "--kind", metavar="K", help="two-way: a board in circuit; parts: one part at a time."
        ),
    ] = "two-way",
) -> None:
    """Write a commented sheet to fill in.

    A file that exists is left alone.
    """
    from rich.text import Text

    from ohmbook.job.start import start_sheet

    start_sheet(file, kind)
    show([Text(f"Wrote {file}. Fill it in, then: ohmbook settle {file}")])


def settle(
    sheet: Sheet,
    *,
    as_json: Json = False,
    working: Annotated[bool, typer.Option("--working", help="Work it out step by step.")] = False,
    figures: Figures = None,
    monte_carlo: Annotated[
        int,
        typer.Option(
            "--monte-carlo",
            metavar="N",
            min=0,
            help="Check the intervals by N refits of perturbed readings.",
        ),
    ] = 0,
    at: Annotated[
        str | None,
        typer.Option(
            "--at", metavar="FREQUENCY", help="Tell inductances and capacitances at it: '1 kHz'."
        ),
    ] = None,
) -> None:
    """Every value from every reading."""
    from ohmbook.job import pages

    with progress("Working it out") as bar:
        settled = given.settled(sheet, at, monte_carlo, bar)
    written = pages.write(settled, figures)
    emit(as_json, settled.document, lambda: pages.settled_pages(settled, working, written))


def behaviour(
    sheet: Sheet,
    *,
    as_json: Json = False,
    draws: Annotated[
        int, typer.Option("--draws", metavar="N", min=0, help="Draws behind the bands; 0: none.")
    ] = 1000,
    frequencies: Annotated[
        tuple[str, str, int] | None,
        typer.Option("--frequencies", metavar="LOW HIGH N", help="The grid: 20 20000 400."),
    ] = None,
    figures: Figures = None,
) -> None:
    """What the crossover does, with a 95 % band."""
    from ohmbook.job import pages

    with progress("Working it out") as bar:
        settled = given.settled(sheet, bar=bar)
    shown = given.behaviour(settled, draws, frequencies)
    written = pages.write(settled, figures, shown)
    emit(as_json, shown.document, lambda: pages.behaviour_pages(shown, settled, written))


def shares(
    sheet: Sheet,
    *,
    as_json: Json = False,
    level: Annotated[
        list[str] | None,
        typer.Option(
            "--level", metavar="FREQUENCY", help="The outputs' levels there as well: '3 kHz'."
        ),
    ] = None,
    figures: Figures = None,
) -> None:
    """Where the doubt in every value and every curve comes from."""
    from ohmbook.job import parting

    at = [given.hertz(one, "--level") for one in level or ()]
    with progress("Working it out") as bar:
        settled = given.settled(sheet, bar=bar)
    found = parting.part(settled, at)
    written = parting.write(found, figures)
    emit(as_json, found.document, lambda: parting.pages(found, written))


def compare(
    left: Annotated[str, typer.Argument(metavar="LEFT", help="The first board's sheet.")],
    right: Annotated[str, typer.Argument(metavar="RIGHT", help="The second board's sheet.")],
    *,
    alike: Annotated[
        str | None,
        typer.Option(
            "--alike",
            metavar="SHARE",
            help="The boards are meant to be alike, parts within '5 %': few readings then do.",
        ),
    ] = None,
    as_json: Json = False,
    figures: Figures = None,
) -> None:
    """Two boards of the same kind: which parts differ, and by how much."""
    from ohmbook.job import compared

    found = given.compared(left, right, alike)
    written = compared.write(found, figures)
    emit(as_json, found.document, lambda: compared.pages(found, written))


def next_readings(
    sheet: Sheet,
    *,
    plan: Annotated[
        int | None,
        typer.Option(
            "--plan", metavar="N", help="A whole plan of N numbers, to fill in and to settle."
        ),
    ] = None,
    want: Annotated[
        list[str] | None,
        typer.Option(
            "--want",
            metavar="NAME",
            help="A part, a source or a feature ('cross'); else all parts.",
        ),
    ] = None,
    within: Annotated[
        str,
        typer.Option(
            "--within", metavar="SHARE", help="What is good enough: '5 %'; of a curve '0.5 dB'."
        ),
    ] = "5 %",
    as_json: Json = False,
) -> None:
    """The readings that would help most, or a whole plan.

    Each is printed as a form to fill in at the bench. A plan is text for the end of the sheet.
    """
    from ohmbook.job import pages

    asked = given.asked(want or (), within, plan)
    with progress("Looking ahead") as bar:
        found = given.next_document(sheet, asked, bar)
    if plan is not None and not as_json:
        show_text(found["plan"]["text"])
    else:
        emit(as_json, lambda: found, lambda: pages.next_pages(found))


def marking(
    text: Annotated[str, typer.Argument(metavar="TEXT", help="What is printed on the part.")],
    kind: Annotated[
        str | None,
        typer.Option("--kind", metavar="K", help="inductor (coil), capacitor or resistor."),
    ] = None,
    *,
    as_json: Json = False,
) -> None:
    """The meanings of a marking, ranked."""
    from ohmbook.report.marking import marking_document, marking_page

    found = given.meanings(text, kind)
    emit(as_json, lambda: marking_document(text, found), lambda: [marking_page(text, found)])
