"""One part without a file: what was written as options becomes a sheet, read like any other.

The text form is the one way in, so an option is held to the same grammar and the same checks as a
sheet. What is wrong is told by the option's name, since there is no sheet that a person could look
into.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from ohmbook.documents.part import PartKind
from ohmbook.documents.reading import Sheet
from ohmbook.errors import CallError, OhmbookError, SheetError
from ohmbook.job.settled import Settled, settle
from ohmbook.sheet.read import read_sheet

SingleKind = Literal["coil", "capacitor", "resistor"]
Written = Mapping[str, str]

PART_KINDS: dict[SingleKind, PartKind] = {
    "coil": "inductor",
    "capacitor": "capacitor",
    "resistor": "resistor",
}
FILE = "options"
NO_AMPLITUDE = "1 Vpp"
"""Stands for the open amplitude where only the frequency of its half is known: it cancels."""
USUAL_SCOPE, USUAL_METER = "entry-level scope", "cheap multimeter"
"""What the instruments are taken to be where nothing else is said: nobody's are exact. Printed
among the assumptions."""
NO_FREQUENCY = "1 kHz"
"""Where a resistor was read, unless it is said: an ideal one doesn't care."""


@dataclass(slots=True)
class _Text:
    """A sheet in the making: its lines, and which options each of them comes from."""

    lines: list[str] = field(default_factory=list)
    options: list[tuple[str, ...]] = field(default_factory=list)

    def head(self, line: str, *options: str) -> None:
        self.lines.append(line)
        self.options.append(options)

    def key(self, name: str, value: str, *options: str) -> None:
        # TOML's basic strings and JSON's agree in every escape that JSON writes.
        self.head(f"{name} = {json.dumps(value)}", *options)

    def keys(self, written: Written, **options: str) -> None:
        """A line for each of the options that was written, under the sheet's name for it."""
        for name, option in options.items():
            if option in written:
                self.key(name, written[option], option)


def settle_single(kind: SingleKind, written: Written) -> Settled:
    """Work one part out from options.

    Args:
        kind: "coil", "capacitor" or "resistor"; also what the part is called.
        written: what was written behind each option, by its key (`half_at` for `--half-at`).

    Raises:
        CallError: an option is absent, or contradicts another.
        OhmbookError: what was written behind an option is at fault; the message names it.
    """
    sheet = single_part_sheet(kind, **written)
    try:
        return settle(sheet)
    except SheetError as error:
        options = _composed(kind, written).options
        raise OhmbookError("\n".join(_told(error, options))) from error


def single_part_sheet(kind: SingleKind, **written: str) -> Sheet:
    """The sheet of one part.

    Args:
        kind: "coil", "capacitor" or "resistor"; also what the part is called.
        written: what was written behind each option, by its key (`half_at` for `--half-at`).

    Raises:
        CallError: an option is absent, or contradicts another.
        OhmbookError: what was written behind an option is at fault; the message names it.
    """
    _check_choice(kind, written)
    text = _composed(kind, written)
    try:
        return read_sheet(text="\n".join(text.lines), file=FILE)
    except SheetError as error:
        raise OhmbookError("\n".join(_told(error, text.options))) from error


def _composed(kind: SingleKind, written: Written) -> _Text:
    text = _Text()
    if "open" in written:
        text.head("[instruments.scope]")
        text.key("kind", "oscilloscope")
        text.key("like", written.get("like", USUAL_SCOPE), "like")
        if "like" not in written:
            text.key("reads", "cursors")
    if "resistance" in written:
        text.head("[instruments.meter]")
        text.key("kind", "multimeter")
        if "meter" in written:
            text.key("resistance", written["meter"], "meter")
        else:
            text.key("like", USUAL_METER)
    text.head("[sources.generator]")
    text.keys(written, resistance="source")
    text.head(f"[parts.{kind}]")
    text.key("kind", PART_KINDS[kind])
    text.keys(written, marking="marking")
    _readings(text, kind, written)
    return text


def _readings(text: _Text, kind: SingleKind, written: Written) -> None:
    if "loaded" in written:
        text.head("[[readings]]", "loaded", "open", "load")
        text.key("name", "generator loaded")
        text.key("kind", "source loading")
        text.keys(written, open="open", loaded="loaded", load="load", frequency="loaded_at")
    if "half_at" in written:
        text.head("[[readings]]", "half_at")
        _amplitude(text, kind, written)
        text.keys(written, frequency="half_at")
        text.key("half_of", written.get("open", NO_AMPLITUDE), "open")
    elif "across" in written:
        text.head("[[readings]]", "across", "open")
        _amplitude(text, kind, written)
        text.key("frequency", written.get("frequency", NO_FREQUENCY), "frequency")
        text.keys(written, open="open", across="across")
    if "resistance" in written:
        text.head("[[readings]]", "resistance")
        text.key("name", "ohmmeter")
        text.key("kind", "resistance")
        text.key("part", kind)
        text.keys(written, value="resistance", leads="leads")


def _amplitude(text: _Text, kind: SingleKind, written: Written) -> None:
    text.key("name", "half amplitude" if "half_at" in written else "amplitude")
    text.key("kind", "amplitude ratio")
    text.key("part", kind)
    text.keys(written, resistor="resistor", probe_on="probe_on")


def _check_choice(kind: SingleKind, written: Written) -> None:
    """Refuse what can't be worked out, or contradicts itself."""
    for problem in _problems(kind, written):
        raise CallError(problem)


def _problems(kind: SingleKind, written: Written) -> Iterator[str]:
    amplitude = "half_at" in written or "across" in written
    if "half_at" in written and "across" in written:
        yield "--half-at and --across say the same in two ways; expected one of them."
    if kind != "resistor" and not amplitude:
        yield (
            f"Nothing here tells the {kind}; expected --half-at (the frequency of half "
            "the open amplitude), or --open, --across and --frequency."
        )
    if kind == "resistor" and not amplitude and "resistance" not in written:
        yield "Nothing here tells the resistor; expected --resistance, or --open and --across."
    if amplitude and not {"source", "loaded"} & set(written):
        yield (
            "The generator's output resistance is missing; expected --source '50 ohm ± 5 %' "
            "(what its manual says), or --open, --loaded and --load, which measure it."
        )
    needs = dict(_NEEDS)
    if kind != "resistor":
        needs["across"] = ("open", "frequency")
    for option, needed in needs.items():
        missing = [_flag(one) for one in needed if one not in written]
        if option in written and missing:
            yield f"{_flag(option)} needs {' and '.join(missing)} as well."
    if "open" in written and not {"half_at", "across", "loaded"} & set(written):
        yield "--open says nothing alone; expected --across, --half-at or --loaded beside it."


_NEEDS: dict[str, tuple[str, ...]] = {
    "across": ("open",),
    "frequency": ("across",),
    "loaded": ("open", "load"),
    "load": ("loaded",),
    "loaded_at": ("loaded",),
    "leads": ("resistance",),
    "meter": ("resistance",),
    "like": ("open",),
    "probe_on": ("resistor",),
}
"""What an option says nothing without."""


def _flag(key: str) -> str:
    return "--" + key.replace("_", "-")


def _told(error: SheetError, options: list[tuple[str, ...]]) -> Iterator[str]:
    """Each problem of a sheet by the options that its line comes from."""
    for one in (error, *error.others):
        names = options[one.line - 1] if one.line is not None else ()
        yield f"{', '.join(map(_flag, names)) or FILE}: {one.message}"
