"""What a form for a reading is filled in with: the bench as it is, and what is offered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, get_args

from ohmbook.bench.form import Form, FormField, form_of, form_of_document
from ohmbook.bench.kind import Reading
from ohmbook.bench.likes import Likeable, filled, likes_of, usual_of
from ohmbook.documents.fields import Document
from ohmbook.documents.part import Instrument, Multimeter, Oscilloscope, Part, Source
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.sheet.build import kind_names
from ohmbook.sheet.fill import filled as filled_in
from ohmbook.sheet.read import bench_kinds, draft_of
from ohmbook.units.quantity import Unit

__all__ = [
    "UNIT_KEYS",
    "Bench",
    "Form",
    "FormField",
    "Offer",
    "Plain",
    "Thing",
    "bench_at",
    "document_forms",
    "forms",
    "offered_first",
    "offers",
]
Plain = dict[str, Any]

UNIT_KEYS: Mapping[Unit, tuple[str, ...]] = {
    "V": ("Vpp", "mVpp", "Vrms", "mVrms"),
    "Hz": ("Hz", "kHz"),
    "ohm": ("ohm", "kohm", "mohm"),
    "H": ("mH", "uH"),
    "F": ("uF", "nF", "pF"),
    "deg": ("deg",),
    "A": ("A", "mA"),
    "W": ("W", "mW"),
    "s": ("s", "ms", "us"),
}
"""Units as they are said at a bench, the likeliest first."""

USUAL: Mapping[str, tuple[str, Plain]] = {
    "source": ("generator", {"like": "generator"}),
    "oscilloscope": ("scope", {"kind": "oscilloscope", "like": "entry-level scope"}),
    "multimeter": ("meter", {"kind": "multimeter", "like": "cheap multimeter"}),
    "tester": ("tester", {"kind": "tester", "like": "pocket tester"}),
}
"""What a bench that has nothing yet is offered."""

_LETTERS = {"inductor": "L", "capacitor": "C", "resistor": "R", "driver": "driver "}


@dataclass(frozen=True, slots=True)
class Thing:
    """A source or an instrument, there or offered.

    Args:
        name: its own.
        section: "sources" or "instruments".
        kind: "source", "oscilloscope", "multimeter" or "tester".
        raw: its plain values.
        assumes: what its starting point fills in, in words.
        usual: the same, field by field.
        new: whether it is only offered: it is written with the first reading that uses it.
        checked: of a source, whether its check has been taken.
    """

    name: str
    section: str
    kind: str
    raw: Plain
    assumes: tuple[str, ...] = ()
    new: bool = False
    checked: bool = False
    usual: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Bench:
    """What is there to choose from.

    Args:
        things: sources and instruments.
        parts: name to kind, every part.
        nodes: of the board.
        on_board: parts that have nodes.
        readings: names of readings, the latest last.
        free: a free name for a new part of each kind.
    """

    things: tuple[Thing, ...]
    parts: dict[str, str]
    nodes: tuple[str, ...]
    on_board: tuple[str, ...]
    readings: tuple[str, ...]
    free: dict[str, str] = field(default_factory=dict)

    def sources(self) -> tuple[Thing, ...]:
        """The sources."""
        return tuple(one for one in self.things if one.section == "sources")

    def able(self, form: Form) -> tuple[Thing, ...]:
        """The instruments that can take a kind of reading, those it is usually taken with first."""
        found = [one for one in self.things if one.kind in form.instruments]
        return tuple(sorted(found, key=lambda one: one.new))


@dataclass(frozen=True, slots=True)
class Offer:
    """A kind of reading that can be taken, or why not yet: "board" where it needs a sketch."""

    form: Form
    lacks: str = ""


def forms(kinds: Sequence[type[ReadingBase]] | None = None) -> tuple[Form, ...]:
    """The form of every kind of reading there is."""
    found = bench_kinds() if kinds is None else kinds
    return tuple(form_of(one) for one in found if issubclass(one, Reading))


def bench_at(raw: Plain, form: Form | None = None) -> Bench:
    """What a board has to choose from, with what is offered where a kind of reading lacks it.

    Args:
        raw: the board's plain values.
        form: of the kind that is to be taken; what any kind may use where None.
    """
    draft = filled_in(draft_of(raw))
    nodes = dict.fromkeys(n for part in draft.parts.values() for n in part.between or ())
    return Bench(
        (*_there(draft, raw), *_offered(draft, form)),
        {name: part.kind for name, part in draft.parts.items()},
        tuple(nodes),
        tuple(name for name, part in draft.parts.items() if part.between is not None),
        tuple(one.name for one in draft.readings),
        {kind: _free(draft, letter) for kind, letter in _LETTERS.items()},
    )


def offers(bench: Bench, every: Sequence[Form]) -> tuple[Offer, ...]:
    """The kinds in the order they are offered; those that cannot be taken yet last."""
    found = [Offer(one, "board" if one.needs_board and not bench.nodes else "") for one in every]
    return tuple(sorted(found, key=lambda one: bool(one.lacks)))


def offered_first(bench: Bench, raw: Plain, every: Sequence[Form], part: str | None = None) -> Form:
    """The form that a person most likely wants: the source's check once, then what was last taken.

    Args:
        bench: of all kinds.
        raw: the board's plain values.
        every: form there is.
        part: which part it is to be about; None where that is open.
    """
    could = [one.form for one in offers(bench, every) if not one.lacks]
    written = [str(one.get("kind")) for one in raw.get("readings", [])]
    usual = [one for one in could if not one.checks_source]
    if part in bench.parts:
        usual = [one for one in usual if one.field("part")] or usual
    elif not written and not any(one.checked for one in bench.sources()):
        return next((one for one in could if one.checks_source), usual[0])
    again = next((one for kind in reversed(written) for one in usual if one.kind == kind), None)
    return again or usual[0]


def _there(draft: Sheet, raw: Plain) -> list[Thing]:
    checked = {
        one.source
        for one in draft.readings
        if isinstance(one, Reading) and one.checks_source and one.struck is None
    }
    found = []
    for section in ("sources", "instruments"):
        held: dict[str, Any] = getattr(draft, section)
        for name, one in held.items():
            kind = str(getattr(one, "kind", "source"))
            fits = one.like is None or one.like in likes_of(type(one))
            assumes = filled(one)[1] if fits else ()
            plain = raw.get(section, {}).get(name, {})
            usual = usual_of(one.like)
            found.append(Thing(name, section, kind, plain, assumes, False, name in checked, usual))
    return found


def _offered(draft: Sheet, form: Form | None) -> list[Thing]:
    """The usual starting points of what is not there."""
    there = {one.kind for one in draft.instruments.values()}
    wanted: list[str] = [] if draft.sources or (form and not form.uses_source) else ["source"]
    if form is None:
        wanted += [one for one in USUAL if one != "source" and one not in there]
    elif form.instruments and not there.intersection(form.instruments):
        usual = [k for k in form.instruments if form.usual and USUAL[k][1]["like"] == form.usual]
        wanted.append((usual or [k for k in form.instruments if k in USUAL])[0])
    return [_usual(draft, kind) for kind in wanted]


def _usual(draft: Sheet, kind: str) -> Thing:
    name, raw = USUAL[kind]
    section = "sources" if kind == "source" else "instruments"
    documents: dict[str, type[Likeable]] = {"source": Source, "oscilloscope": Oscilloscope}
    document = documents.get(kind, Multimeter)
    taken = {*draft.sources, *draft.instruments, *draft.parts}
    free = name if name not in taken else _numbered(f"{name} ", taken)
    assumes = filled(document.model_validate(raw))[1]
    return Thing(free, section, kind, raw, assumes, True, False, usual_of(str(raw["like"])))


def _free(draft: Sheet, letter: str) -> str:
    return _numbered(letter, {*draft.parts, *draft.sources})


def _numbered(start: str, taken: set[str]) -> str:
    return next(name for k in range(1, len(taken) + 2) if (name := f"{start}{k}") not in taken)


def document_forms() -> dict[str, tuple[Form, tuple[str, ...]]]:
    """Forms of parts, sources and instruments by kind, with the starting points of each."""
    found: dict[str, tuple[Form, tuple[str, ...]]] = {
        "source": (form_of_document(Source), likes_of(Source))
    }
    documents: tuple[type[Document], ...] = (*get_args(Instrument), *get_args(Part))
    for one in documents:
        likes = likes_of(one) if issubclass(one, Oscilloscope | Multimeter) else ()
        for kind in kind_names(one):
            found[kind] = (form_of_document(one), likes)
    return found
