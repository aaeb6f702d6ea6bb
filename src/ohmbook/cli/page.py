"""The command that opens the bench page. The page is a door of its own, and so another program."""

from __future__ import annotations

import subprocess
import sys
from typing import Annotated

import typer


def open_page(
    notebook: Annotated[
        str | None,
        typer.Argument(metavar="NOTEBOOK", help="A notebook; the example's where none is named."),
    ] = None,
    *,
    port: Annotated[
        int | None,
        typer.Option(
            "--port", min=1, max=65535, metavar="N", help="Where to serve; 8470 or the next free."
        ),
    ] = None,
    network: Annotated[
        bool,
        typer.Option(
            "--network",
            help="Let phones of the bench's network in, each with a pass that is shown once; use "
            "a network that you trust.",
        ),
    ] = False,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Say the address only.")] = False,
) -> None:
    """The bench page, in the browser; a notebook that is not there is begun."""
    from ohmbook.job.opening import notebook_to_open

    call = [sys.executable, "-m", "ohmbook.web", str(notebook_to_open(notebook))]
    call += [] if port is None else ["--port", str(port)]
    call += ["--network"] if network else []
    call += ["--no-browser"] if no_browser else []
    try:
        raise typer.Exit(subprocess.run(call, check=False).returncode)
    except KeyboardInterrupt:
        raise typer.Exit(0) from None
