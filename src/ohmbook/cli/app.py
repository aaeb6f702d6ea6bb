"""The program: every command under its name, and its way in."""

from __future__ import annotations

import sys

import typer

from ohmbook.cli import capture, commands, notebook, page, single
from ohmbook.cli.guard import Guarded, guarded
from ohmbook.cli.screen import prepare

EPILOG = (
    "Exit status: 0 done, 1 the data is at fault, 2 the call is at fault, 70 ohmbook itself is. "
    "Before you touch a board: unplug it, discharge its capacitors through a resistor, measure."
)

app = typer.Typer(
    cls=Guarded,
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="From bench readings to part values and crossover behaviour, with honest uncertainties.",
    epilog=EPILOG,
)

app.command("demo")(commands.demo)
for _kind, _command in single.commands().items():
    app.command(_kind)(_command)
app.command("start")(commands.start)
app.command("settle")(commands.settle)
app.command("behaviour")(commands.behaviour)
app.command("shares")(commands.shares)
app.command("compare")(commands.compare)
app.command("next")(commands.next_readings)
app.command("marking")(commands.marking)
app.command("capture")(capture.capture)
app.command("open")(page.open_page)
app.add_typer(notebook.app, name="notebook")


def command_names() -> tuple[str, ...]:
    """The names of the commands, in the order of the help; those of a group after the group's."""
    own = tuple(one.name for one in app.registered_commands if one.name is not None)
    groups = [(one.name, one.typer_instance) for one in app.registered_groups]
    return own + tuple(
        name
        for group, held in groups
        if group and held is not None
        for name in (group, *(f"{group} {one.name}" for one in held.registered_commands))
    )


def main() -> None:
    """The program `ohmbook`."""
    prepare()
    sys.exit(guarded(app))
