"""The commented sheets that `ohmbook start` writes."""

from __future__ import annotations

from importlib.resources import files

from ohmbook.errors import CallError

TEMPLATES = ("two-way", "parts")
"""A board read in circuit; parts read one at a time."""


def template(kind: str = "two-way") -> str:
    """A commented sheet to fill in, with the cautions at the steps they belong to.

    Args:
        kind: one of `TEMPLATES`.

    Returns:
        The sheet's text; it can be read as it stands.

    Raises:
        CallError: there is no such template.
    """
    if kind not in TEMPLATES:
        known = " or ".join(f'"{name}"' for name in TEMPLATES)
        raise CallError(f'there is no sheet "{kind}" to start from; expected {known}')
    return files(__package__).joinpath("templates", f"{kind}.toml").read_text(encoding="utf-8")
