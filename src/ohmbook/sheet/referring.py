"""Checks of what refers to what: whatever is named exists, and nothing refers to itself.

Each check takes the draft of a sheet and yields problems; none changes anything.
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmbook.documents.fields import Document, ReadingName
from ohmbook.documents.reading import Problem, ReadingBase, Sheet
from ohmbook.documents.reference import Key, Noun, Reference, references
from ohmbook.sheet.fill import nodes_of
from ohmbook.sheet.near import suggestion
from ohmbook.units.quantity import Quantity

_GROUPS: dict[Noun, str] = {
    "part": "parts",
    "node": "nodes",
    "source": "sources",
    "instrument": "instruments",
    "reading": "named readings",
}


def known_names(sheet: Sheet) -> Iterator[Problem]:
    """Whatever is named exists."""
    known = _known(sheet)
    for key, ref in _references(sheet):
        yield from _unknown(key, ref, known)


def shared_quantities(sheet: Sheet) -> Iterator[Problem]:
    """What is taken from another reading ("@o1") is written out there, and counts."""
    named = {one.name: one for one in sheet.readings}
    for key, ref in _references(sheet):
        taken_from = named.get(ref.name)
        if ref.noun == "reading" and taken_from is not None:
            own = key[0] == "readings" and sheet.readings[int(key[1])] is taken_from
            why = "refers to itself" if own else _not_there(str(ref.key[0]), taken_from)
            if why:
                yield Problem(
                    key,
                    f'"@{ref.name}" {why}; expected the quantity itself, or a reading that '
                    f"states its {ref.key[0]}",
                )


def clear_quantities(sheet: Sheet) -> Iterator[Problem]:
    """No quantity reads like the name of a part ("47R" where a part is called so)."""
    documents: list[tuple[Key, Document]] = [
        *((("readings", index), one) for index, one in enumerate(sheet.readings)),
        *((("sources", name), one) for name, one in sheet.sources.items()),
        *((("parts", name), one) for name, one in sheet.parts.items()),
    ]
    for key, document in documents:
        for field in type(document).model_fields:
            value = getattr(document, field)
            if isinstance(value, Quantity) and value.text.strip() in sheet.parts:
                yield Problem(
                    (*key, field),
                    f'"{value.text}" is a quantity and the name of a part as well; expected '
                    "another name for the part, one that begins with a letter",
                )


def _references(sheet: Sheet) -> Iterator[tuple[Key, Reference]]:
    for ref in references(sheet.defaults):
        yield ("defaults", *ref.key), ref
    for name, source in sheet.sources.items():
        if isinstance(source.open, ReadingName):
            yield ("sources", name, "open"), Reference(("open",), "reading", source.open[1:])
    for index, reading in enumerate(sheet.readings):
        for ref in reading.references():
            yield ("readings", index, *ref.key), ref


def _known(sheet: Sheet) -> dict[Noun, list[str]]:
    nodes = dict.fromkeys(node for pair in nodes_of(sheet).values() for node in pair)
    return {
        "part": list(sheet.parts),
        "node": list(nodes),
        "source": list(sheet.sources),
        "instrument": list(sheet.instruments),
        "reading": [one.name for one in sheet.readings],
    }


def _unknown(key: Key, ref: Reference, known: dict[Noun, list[str]]) -> Iterator[Problem]:
    noun, name = ref.noun, ref.name
    if noun == "part end":
        noun, name, end = "part", *_split_end(ref.name)
        if end not in ("1", "2"):
            yield Problem(
                key,
                f'"{ref.name}" is not the end of a part; expected a part, a dot and 1 or 2 for '
                "the first or second of its nodes, such as C1.1",
            )
            return
    if name not in known[noun]:
        none = f"the sheet has no {_GROUPS[noun]}"
        yield Problem(key, f'unknown {noun} "{name}"; {suggestion(name, known[noun], none)}')


def _split_end(text: str) -> tuple[str, str]:
    name, _, end = text.rpartition(".")
    return name, end


def _not_there(field: str, reading: ReadingBase) -> str | None:
    if reading.struck is not None:
        return "is struck and does not count"
    if not isinstance(getattr(reading, field, None), Quantity):
        return f'is a reading of kind "{reading.kind}" that states no {field} of its own'
    return None
