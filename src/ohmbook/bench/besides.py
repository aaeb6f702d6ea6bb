"""A resistor that stands in series with a part: what can be wrong with it."""

from __future__ import annotations

from collections.abc import Iterable

from ohmbook.documents.reading import Problem, Sheet
from ohmbook.units.quantity import Quantity


def resistor_problems(
    part: str, resistor: Quantity | str | None, sheet: Sheet, otherwise: str
) -> Iterable[Problem]:
    """Whether it is a resistor, and another thing than the part.

    Args:
        part: the part's name.
        resistor: its value, or a part's name.
        sheet: what it is named in.
        otherwise: what to do where it is none.
    """
    if isinstance(resistor, str) and (resistor == part or sheet.parts[resistor].kind != "resistor"):
        yield Problem(
            ("resistor",),
            f'"{resistor}" is not a resistor besides {part}; expected one, or a '
            'value such as "100.2 ohm"',
        )
    if isinstance(resistor, Quantity) and resistor.value == 0.0:
        yield Problem(("resistor",), f'"{resistor.text}" is no resistor; {otherwise}')
