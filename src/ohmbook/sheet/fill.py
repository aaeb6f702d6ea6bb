"""What a sheet leaves unsaid: names of readings, nodes of parts, which source and instrument."""

from __future__ import annotations

from dataclasses import replace

from ohmbook.documents.part import Sketch
from ohmbook.documents.reading import ReadingBase, Sheet

Pair = tuple[str, str]


def named(sheet: Sheet) -> Sheet:
    """The sheet with a name for every reading: "reading 3" is the third one, from 1."""
    readings = tuple(
        one if one.name else one.model_copy(update={"name": f"reading {number}"})
        for number, one in enumerate(sheet.readings, 1)
    )
    return replace(sheet, readings=readings)


def nodes_of(sheet: Sheet) -> dict[str, Pair]:
    """The two nodes of every part that has some, from the part or from `[sketch.between]`."""
    drawn = sheet.sketch.between if sheet.sketch else {}
    found = {name: part.between or drawn.get(name) for name, part in sheet.parts.items()}
    return {name: pair for name, pair in found.items() if pair is not None}


def source_for(sheet: Sheet, reading: ReadingBase) -> str | None:
    """The source of a reading: as stated, by default, or the only one; None if undecided."""
    if reading.source or not reading.uses_source:
        return reading.source
    return sheet.defaults.source or _only(list(sheet.sources))


def instrument_for(sheet: Sheet, reading: ReadingBase) -> str | None:
    """The instrument of a reading, likewise, among those that can take such a reading."""
    if reading.instrument:
        return reading.instrument
    able = able_instruments(sheet, reading)
    return sheet.defaults.instrument if sheet.defaults.instrument in able else _only(able)


def able_instruments(sheet: Sheet, reading: ReadingBase) -> list[str]:
    """The instruments that can take a reading of this kind."""
    return [name for name, one in sheet.instruments.items() if one.kind in reading.instrument_kinds]


def filled(sheet: Sheet) -> Sheet:
    """The sheet with everything filled in; its checks have been passed."""
    nodes = nodes_of(sheet)
    parts = {
        name: part.model_copy(update={"between": nodes.get(name)})
        for name, part in sheet.parts.items()
    }
    readings = tuple(_decided(sheet, one) for one in sheet.readings)
    sketch = sheet.sketch or (Sketch() if nodes else None)
    return replace(sheet, parts=parts, readings=readings, sketch=sketch)


def _decided(sheet: Sheet, reading: ReadingBase) -> ReadingBase:
    chosen = {"source": source_for(sheet, reading), "instrument": instrument_for(sheet, reading)}
    return reading.model_copy(update=chosen)


def _only(names: list[str]) -> str | None:
    return names[0] if len(names) == 1 else None
