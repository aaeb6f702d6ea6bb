"""From TOML's plain values to documents; every fault is gathered with its key."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar, get_args

from pydantic import ValidationError

from ohmbook.documents.fields import GATHER, Document
from ohmbook.documents.part import Defaults, Instrument, Part, Sketch, Source
from ohmbook.documents.reading import Problem, ReadingBase, Sheet
from ohmbook.documents.reference import Key
from ohmbook.errors import OhmbookError, TableError
from ohmbook.sheet.near import nearest, quoted, suggestion
from ohmbook.sheet.words import problems_of, told, toml

Kinds = tuple[type[ReadingBase], ...]
Model = TypeVar("Model", bound=Document)

_SECTIONS = ("title", "defaults", "instruments", "sources", "parts", "sketch", "readings")
_LIKELY = {
    "generator": "sources",
    "generators": "sources",
    "amplifier": "sketch",
    "scope": "instruments",
    "meter": "instruments",
    "board": "sketch",
    "components": "parts",
    "measurements": "readings",
}


def build(raw: Mapping[str, Any], kinds: Kinds) -> tuple[Sheet, list[Problem]]:
    """Make documents of a sheet's plain values.

    Args:
        raw: what the TOML parser gave.
        kinds: the reading kinds that exist.

    Returns:
        A draft of the sheet, its references unchecked and nothing filled in, and what is wrong;
        the draft is whole only where nothing is.
    """
    builder = _Builder()
    for name in raw:
        if name not in _SECTIONS:
            builder.find((name,), _unknown_section(name))
    sketch = builder.table(raw, "sketch", "[sketch]")
    sheet = Sheet(
        title=builder.text(raw, "title"),
        defaults=builder.document(
            ("defaults",), Defaults, builder.table(raw, "defaults", "[defaults]")
        )
        or Defaults(),
        instruments=builder.documents(raw, "instruments", get_args(Instrument)),
        sources=builder.documents(raw, "sources", (Source,)),
        parts=builder.documents(raw, "parts", get_args(Part)),
        sketch=builder.document(("sketch",), Sketch, sketch) if "sketch" in raw else None,
        readings=builder.readings(raw, kinds),
    )
    return sheet, builder.problems


def kind_names(model: type[Document]) -> tuple[str, ...]:
    """What `kind` says for a class of documents; none where the class has no kind."""
    field = model.model_fields.get("kind")
    return tuple(map(str, get_args(field.annotation))) if field else ()


def _unknown_section(name: str) -> str:
    near = nearest(name, _SECTIONS) or _LIKELY.get(name.casefold())
    listed = f"a sheet has {', '.join(_SECTIONS)}"
    return f'unknown key "{name}"; ' + (f'did you mean "{near}"? ({listed})' if near else listed)


class _Builder:
    """Makes documents and keeps the problems met on the way."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def find(self, key: Key, message: str) -> None:
        self.problems.append(Problem(key, message))

    def text(self, raw: Mapping[str, Any], name: str) -> str:
        value = raw.get(name, "")
        if not isinstance(value, str):
            self.find((name,), f"found {toml(value)}; expected a text in double quotes")
            return ""
        return value

    def table(self, raw: Mapping[str, Any], name: str, heading: str) -> dict[str, Any]:
        value = raw.get(name, {})
        if not isinstance(value, dict):
            self.find(
                (name,), f"found {_found(value)}; expected a table that begins with {heading}"
            )
            return {}
        return value

    def documents(
        self, raw: Mapping[str, Any], name: str, models: tuple[type[Model], ...]
    ) -> dict[str, Model]:
        made: dict[str, Model] = {}
        for owner, value in self.table(raw, name, f"[{name}.NAME]").items():
            document = self.one((name, owner), models, value)
            if document is not None:
                made[owner] = document
        return made

    def readings(self, raw: Mapping[str, Any], kinds: Kinds) -> tuple[ReadingBase, ...]:
        value = raw.get("readings", [])
        if not isinstance(value, list):
            self.find(
                ("readings",),
                f"found {_found(value)}; expected each reading under its own "
                "[[readings]], in double brackets",
            )
            return ()
        made = [self.one(("readings", index), kinds, one) for index, one in enumerate(value)]
        return tuple(one for one in made if one is not None)

    def one(self, key: Key, models: tuple[type[Model], ...], value: Any) -> Model | None:
        """One document of the class that its `kind` tells; None where something is wrong."""
        if not isinstance(value, dict):
            self.find(key, f"found {toml(value)}; expected a table such as {{ ... }}")
            return None
        known = {name: model for model in models for name in kind_names(model)}
        if not known:
            return self.document(key, models[0], value)
        kind = value.get("kind")
        if kind is None:
            first = next(iter(known))
            self.find(
                (*key, "kind"),
                f'this is missing; write for example kind = "{first}" (known: {quoted(known)})',
            )
            return None
        if not isinstance(kind, str) or kind not in known:
            self.find((*key, "kind"), f"unknown kind {toml(kind)}; {suggestion(str(kind), known)}")
            return None
        return self.document(key, known[kind], value)

    def document(self, key: Key, model: type[Model], value: dict[str, Any]) -> Model | None:
        try:
            return model.model_validate(value, context=GATHER)
        except ValidationError as error:
            self._add(key, problems_of(error, model, value))
        except OhmbookError as error:  # a kind's own validator may raise without a place
            at: Key = ("table",) if isinstance(error, TableError) else ()
            self._add(key, (told(error, at),))
        return None

    def _add(self, key: Key, problems: Iterable[Problem]) -> None:
        self.problems += [
            Problem((*key, *one.key), one.message, one.row, one.column) for one in problems
        ]


def _found(value: Any) -> str:
    if isinstance(value, list):
        return "a list of tables, [[...]] in double brackets"
    return "one table, [...] in single brackets" if isinstance(value, dict) else toml(value)
