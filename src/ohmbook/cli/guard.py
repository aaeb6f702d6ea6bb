"""Between the commands and the terminal: every error in one message, every end with its status."""

from __future__ import annotations

import os
import sys
import traceback
from typing import Any

import typer
from typer.core import TyperGroup

from ohmbook.cli import exits
from ohmbook.cli.screen import say
from ohmbook.errors import CallError, OhmbookError

TRACE = "OHMBOOK_TRACEBACK"
"""Environment variable: set it to see where an unexpected error came from."""


class Guarded(TyperGroup):
    """A group of commands that tells an expected error in one message and ends with its status."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command; an error about the data or the call becomes an exit status."""
        try:
            return super().invoke(ctx)
        except CallError as error:
            say(str(error))
            raise typer.Exit(exits.CALL_AT_FAULT) from error
        except OhmbookError as error:
            say(str(error))
            raise typer.Exit(exits.DATA_AT_FAULT) from error
        except BrokenPipeError as error:
            _drop_output()
            raise typer.Exit(exits.READER_GONE) from error
        except OSError as error:
            say(_reason(error))
            raise typer.Exit(exits.CALL_AT_FAULT) from error


def guarded(app: typer.Typer) -> int:
    """Run an app as a program does, whatever happens, and give its exit status."""
    try:
        app()
        sys.stdout.flush()
    except SystemExit as end:
        return _flushed(end.code if isinstance(end.code, int) else exits.DONE)
    except KeyboardInterrupt:
        return exits.STOPPED
    except BrokenPipeError:
        _drop_output()
        return exits.READER_GONE
    except Exception as error:  # the last net: what is caught here is our own fault, and said so
        return _confess(error)
    return exits.DONE


def _reason(error: OSError) -> str:
    """Why a file could not be read or written."""
    where = f'"{error.filename}": ' if error.filename else ""
    return f"{where}{error.strerror or error}"


def _flushed(status: int) -> int:
    """The status, unless what was printed can't reach its reader any more."""
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        _drop_output()
        return exits.READER_GONE
    return status


def _drop_output() -> None:
    """Send the rest of the output nowhere, so that the interpreter's last flush is quiet too."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _confess(error: Exception) -> int:
    if os.environ.get(TRACE):
        traceback.print_exception(error)
    say(
        f"ohmbook went wrong itself ({type(error).__name__}: {error}). That is not your sheet's "
        "fault. Please report it with the command and the sheet; "
        f"{TRACE}=1 before the command shows where it happened."
    )
    return exits.PROGRAM_AT_FAULT
