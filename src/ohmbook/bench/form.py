"""A form for a kind of reading, or for any document, out of how its fields are declared.

No kind is known by name: what a field is follows from its type and from `MEANING` (a field of a
given name means the same in every kind), and what else there is to say of it stands with the kind.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from ohmbook.bench.kind import FormWords, Reading, Way
from ohmbook.documents.fields import Document, PartName, ReadingName, written_of
from ohmbook.documents.reading import ReadingBase
from ohmbook.documents.reference import MEANING, Noun
from ohmbook.documents.table import Table
from ohmbook.units.quantity import Accuracy, Quantity, Unit

What = Literal[
    "quantity", "accuracy", "choice", "yes", "text", "name", "place", "pair", "names", "amounts",
    "pairs", "table",
]  # fmt: skip
"""What a field takes: a quantity; an accuracy; one of several words; yes or no; a text; the name of
something; a node or two; two nodes; several names; a quantity for each name; two nodes for each
name; a table of quantities."""

OWN = ("kind", "name", "struck", "date")
"""Fields of a reading that are not filled in by hand."""


@dataclass(frozen=True, slots=True)
class FormField:
    """One field of a form.

    Args:
        name: the document's own.
        label: for people.
        what: which control it gets.
        required: whether nothing can be written without it.
        unit: of a quantity or accuracy.
        noun: what a name in it names.
        instead: what may be named where a quantity might have stood.
        choices: what a choice is between.
        example: of what is written.
        help: a short one.
        result: whether it is read rather than set.
        seldom: whether it is folded away.
        way: which of the form's ways it belongs to alone; None where to all.
    """

    name: str
    label: str
    what: What
    required: bool = False
    unit: Unit | None = None
    noun: Noun | None = None
    instead: Noun | None = None
    choices: tuple[str | int, ...] = ()
    example: str = ""
    help: str = ""
    result: bool = False
    seldom: bool = False
    way: int | None = None


@dataclass(frozen=True, slots=True)
class Form:
    """A form.

    Args:
        kind: of the reading; "" for another document.
        heading: what the person sets out to do.
        does: a sentence on what it gives.
        fields: in order.
        ways: in words, where there are several ways to write it.
        uses_source: whether a source is at work.
        instruments: kinds of instrument that can take it.
        checks_source: whether it is taken once for each source.
        usual: which starting point its instrument has where none is there.
    """

    kind: str
    heading: str
    does: str
    fields: tuple[FormField, ...]
    ways: tuple[str, ...] = ()
    uses_source: bool = False
    instruments: tuple[str, ...] = ()
    checks_source: bool = False
    usual: str = ""

    def field(self, name: str) -> FormField | None:
        """A field by its name; None where there is none."""
        return next((one for one in self.fields if one.name == name), None)

    @property
    def needs_board(self) -> bool:
        """Whether there is no way to fill it in without a board's nodes."""
        by_way = [
            [one for one in self.fields if one.way in (None, k)]
            for k in range(max(1, len(self.ways)))
        ]
        return all(any(one.noun == "node" and one.required for one in fields) for fields in by_way)


def form_of(kind: type[Reading]) -> Form:
    """The form of a kind of reading."""
    words = kind.form
    name = str(get_args(kind.model_fields["kind"].annotation)[0])
    fields = tuple(_fields(kind, words))
    if not words.results:
        fields = tuple(_as_result(one) for one in fields)
    return Form(
        name,
        words.heading or name[:1].upper() + name[1:],
        words.does or _first_line(kind),
        fields,
        tuple(one.words for one in words.ways),
        kind.uses_source,
        kind.instrument_kinds,
        kind.checks_source,
        words.usual,
    )


def form_of_document(document: type[Document]) -> Form:
    """The form of a part, a source or an instrument."""
    return Form("", "", _first_line(document), tuple(_fields(document, FormWords())))


def _as_result(field: FormField) -> FormField:
    return replace(field, result=field.required and field.what in ("quantity", "amounts", "table"))


def _first_line(document: type[Document]) -> str:
    return (inspect.getdoc(document) or "").split("\n\n")[0].replace("\n", " ").replace("`", "")


def _fields(document: type[Document], words: FormWords) -> Iterator[FormField]:
    """In the order that is asked for; what every reading has comes last."""
    base = ReadingBase.model_fields if issubclass(document, ReadingBase) else {}
    names = [one for one in document.model_fields if one not in (*OWN, *_unused(document))]
    own = [one for one in names if one not in base]
    ranks = {one: k for k, one in enumerate(words.order)}
    own.sort(key=lambda one: ranks.get(one, len(ranks)))
    for name in [*own, *(one for one in names if one in base)]:
        field = document.model_fields[name]
        yield _field(name, field, words, name in base)


def _unused(document: type[Document]) -> Iterator[str]:
    """What a kind of reading has no use for."""
    if issubclass(document, ReadingBase):
        if not document.uses_source:
            yield "source"
        if not document.instrument_kinds:
            yield "instrument"


def _field(name: str, field: FieldInfo, words: FormWords, of_base: bool) -> FormField:
    leaves = tuple(_leaves(field.annotation))
    written = written_of(field)
    way = _way_of(name, words.ways)
    lone = way is not None and name in words.ways[way].fields[: words.ways[way].needs]
    instead: Noun | None = "part" if PartName in leaves else None
    return FormField(
        name,
        words.labels.get(name) or field.title or name.replace("_", " ").capitalize(),
        _what(name, leaves),
        field.is_required() or lone,
        written.unit if written and written.unit != "1" else None,
        MEANING.get(name),
        "reading" if ReadingName in leaves else instead,
        tuple(one for leaf in leaves if get_origin(leaf) is Literal for one in get_args(leaf)),
        written.example.strip('"') if written and Table not in leaves else "",
        words.helps.get(name) or field.description or "",
        name in words.results,
        name in words.seldom or (of_base and name not in ("source", "instrument")),
        way,
    )


def _way_of(name: str, ways: tuple[Way, ...]) -> int | None:
    return next((k for k, one in enumerate(ways) if name in one.fields), None)


def _leaves(annotation: Any) -> Iterator[Any]:
    """The types of a union, each without what is annotated to it; None is left out."""
    origin = get_origin(annotation)
    if origin is Annotated:
        yield from _leaves(get_args(annotation)[0])
    elif origin is Literal or origin in (dict, tuple, list) or origin is None:
        if annotation is not type(None):
            yield annotation
    else:
        for one in get_args(annotation):
            yield from _leaves(one)


def _what(name: str, leaves: tuple[Any, ...]) -> What:
    origins = {get_origin(one) for one in leaves}
    if Table in leaves:
        return "table"
    if dict in origins:
        return _held(leaves)
    if tuple in origins or list in origins:
        return _listed(leaves)
    simple: dict[Any, What] = {Quantity: "quantity", Accuracy: "accuracy", bool: "yes"}
    for kind, what in simple.items():
        if kind in leaves:
            return what
    if Literal in origins:
        return "choice"
    return "name" if name in MEANING else "text"


def _held(leaves: tuple[Any, ...]) -> What:
    """What stands under each name."""
    held = next(get_args(one)[1] for one in leaves if get_origin(one) is dict)
    return "amounts" if Quantity in tuple(_leaves(held)) else "pairs"


def _listed(leaves: tuple[Any, ...]) -> What:
    listed = next(get_args(one) for one in leaves if get_origin(one) in (tuple, list))
    if listed == (str, str):
        return "place" if str in leaves else "pair"
    return "names" if str in listed else "text"
