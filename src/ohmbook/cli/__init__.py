"""The terminal's doors: parse what a person gives, call the library door, show what it says.

Importing this is cheap: what is heavy is imported inside the commands, when they run.
"""

from ohmbook.cli.app import app, command_names, main

__all__ = ["app", "command_names", "main"]
