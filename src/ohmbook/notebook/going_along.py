"""What goes along with a part from one board to another: its own readings, what they rest on.

A reading is a part's own where it names that part, no other and no node. Readings of the bench
(the generator loaded, the generator off) go along too as far as a source or an instrument of the
part's own readings is read in them, and stay where they are as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.documents.reference import MEANING
from ohmbook.notebook.boards import Kept, plain, readings
from ohmbook.notebook.ledger import View
from ohmbook.sheet.fill import instrument_for, nodes_of, source_for
from ohmbook.sheet.read import draft_of


@dataclass(frozen=True)
class Bench:
    """A board as it stands, seen as documents too.

    Args:
        name: the board's.
        raw: its plain values.
        draft: its documents; readings that wait are not among them.
        kept: its readings as they stand, by name, those that wait too.
    """

    name: str
    raw: dict[str, Any]
    draft: Sheet
    kept: Mapping[str, Kept]

    @staticmethod
    def of(view: View, board: str) -> Bench:
        """A board at a moment."""
        raw = plain(view, board)
        return Bench(board, raw, draft_of(raw), {one.name: one for one in readings(view, board)})

    def used(self, reading: ReadingBase) -> tuple[str | None, str | None]:
        """The source and the instrument of a reading, stated or not."""
        return source_for(self.draft, reading), instrument_for(self.draft, reading)

    def with_things(self, sources: Iterable[str], instruments: Mapping[str, Any]) -> Bench:
        """The same with further sources and instruments."""
        added = draft_of(
            {"sources": {one: {} for one in sources}, "instruments": dict(instruments)}
        )
        return replace(
            self,
            draft=replace(
                self.draft,
                sources={**added.sources, **self.draft.sources},
                instruments={**added.instruments, **self.draft.instruments},
            ),
        )


def own(bench: Bench, part: str) -> list[ReadingBase]:
    """The readings that are a part's own."""
    return [one for one in bench.draft.readings if _is_own(one, part)]


def of_the_bench(bench: Bench, with_them: Sequence[ReadingBase]) -> list[ReadingBase]:
    """Readings of the sources and instruments that some readings rest on, which count."""
    sources, instruments = (set(names) - {None} for names in _both(bench, with_them))
    found = []
    for one in bench.draft.readings:
        parts, nodes = concerns(one)
        if parts or nodes or one.struck is not None or one in with_them:
            continue
        source, instrument = bench.used(one)
        if source in sources or (source is None and instrument in instruments):
            found.append(one)
    return found


def concerns(reading: ReadingBase) -> tuple[set[str], set[str]]:
    """The parts and the nodes that a reading names."""
    every = reading.references()
    ends = {one.name.rpartition(".")[0] for one in every if one.noun == "part end"}
    return (
        {one.name for one in every if one.noun == "part"} | ends,
        {one.name for one in every if one.noun == "node"},
    )


def why_it_stays(bench: Bench, part: str, going: Sequence[ReadingBase]) -> list[str]:
    """What else on a board refers to a part, in words."""
    left = [one for one in bench.draft.readings if one not in going]
    gone = {one.name for one in going}
    drawn = part in nodes_of(bench.draft)
    waiting = [bench.kept[name] for name in bench.draft.waiting if name in bench.kept]
    found = []
    for one in left:
        parts, nodes = concerns(one)
        taken_from = {ref.name for ref in one.references() if ref.noun == "reading"}
        if part in parts:
            found.append(f"{one.name} refers to it")
        elif nodes and drawn:
            found.append(f"{one.name} was taken on the board with it")
        elif taken_from & gone:
            found.append(f"{one.name} takes a value from one of its readings")
    found += [f"{one.name} waits to be filled in for it" for one in waiting if _says(one.raw, part)]
    if bench.draft.sketch is not None and part in bench.draft.sketch.outputs:
        found.append("the sketch has it as an output")
    return found


def carried(
    bench: Bench, going: Sequence[ReadingBase], names: Mapping[str, str]
) -> Iterator[dict[str, Any]]:
    """Readings as they are written elsewhere.

    Args:
        bench: where they come from.
        going: which.
        names: the new names of those readings.

    Yields:
        Plain values with the new name; what is taken from a reading that stays behind ("@o1") is
        written out the first time, and taken from there afterwards.
    """
    written: dict[tuple[str, str], str] = {}
    for one in going:
        raw = {**bench.kept[one.name].raw, "name": names[one.name]}
        for field, value in raw.items():
            if isinstance(value, str) and value[:1] == "@" and field != "note":
                raw[field] = _shared(bench, (field, value[1:]), names, written, one)
        yield raw


def written_out(bench: Bench, field: str, value: Any) -> Any:
    """What a field says where it may be taken from a reading ("@o1")."""
    while isinstance(value, str) and value[:1] == "@" and value[1:] in bench.kept:
        value = bench.kept[value[1:]].raw.get(field)
    return value


def _shared(
    bench: Bench,
    what: tuple[str, str],
    names: Mapping[str, str],
    written: dict[tuple[str, str], str],
    reading: ReadingBase,
) -> Any:
    field, name = what
    if name in names:
        return f"@{names[name]}"
    if what in written:
        return f"@{written[what]}"
    written[what] = names[reading.name]
    return written_out(bench, field, f"@{name}")


def _is_own(reading: ReadingBase, part: str) -> bool:
    parts, nodes = concerns(reading)
    by_field = any(
        one.noun == "part" and MEANING.get(str(one.key[0])) == "part"
        for one in reading.references()
    )
    return parts == {part} and not nodes and by_field


def _both(
    bench: Bench, those: Sequence[ReadingBase]
) -> tuple[Sequence[str | None], Sequence[str | None]]:
    used = [bench.used(one) for one in those]
    return [source for source, _ in used], [instrument for _, instrument in used]


def _says(value: Any, part: str) -> bool:
    """Whether a part's name, or one of its ends, stands anywhere in plain values."""
    if isinstance(value, Mapping):
        return any(_says(one, part) for pair in value.items() for one in pair)
    if isinstance(value, list):
        return any(_says(one, part) for one in value)
    return value in (part, f"{part}.1", f"{part}.2")
