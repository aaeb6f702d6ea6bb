"""Slips as findings, in plain words: what fits, with what odds, and how to write it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import floor, log10

from ohmbook.counsel.loaded import LOADED
from ohmbook.counsel.mistakes import Cause
from ohmbook.counsel.rewrite import in_column
from ohmbook.counsel.rivals import Slip
from ohmbook.counsel.screening import Supposed, suspects
from ohmbook.counsel.slips import Slips
from ohmbook.documents.finding import Explanation, Finding
from ohmbook.documents.reading import Sheet
from ohmbook.documents.table import Table
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Convention
from ohmbook.units.show import show_plain

LEAST = 0.01
"""Explanations less probable than this are not listed."""

MOST = 5
_NAMED = 0.05
_TRUSTED = 0.3
"""A correction is put forward where it is at least this share of all that may be wrong there."""

_ONE = 1.01
_SURE = 1e6
_MENTIONED = 3
_AS_LIKELY = 0.3


@dataclass(frozen=True, slots=True)
class Told:
    """Supposed corrections that differ by what the readings cannot tell, as one: the best of
    them, and the probability of all."""

    best: Supposed
    chance: float


def slip_findings(slipped: Slips) -> tuple[Finding, ...]:
    """A finding for each slip, the likeliest explanations first."""
    return tuple(_finding(slip, rivals(slip, slipped.found)) for slip in slipped.found)


def rivals(slip: Slip, found: Sequence[Slip]) -> list[Slip]:
    """Other slips of which, with this one, only one need be: together they are one certainty."""
    others = [one for one in found if one is not slip and one.scene.answer is slip.scene.answer]
    return [one for one in others if one.chance + slip.chance < _ONE]


def explained(slipped: Slips, labels: Iterable[str]) -> frozenset[str]:
    """Labels that need no finding of their own: all of them where the slips explain everything.

    Args:
        slipped: what was found.
        labels: of every observation.
    """
    if slipped.settled:
        return frozenset(labels)
    return frozenset(
        label for slip in slipped.found for label in (*slip.suspects, *slip.left_out, *slip.cleared)
    )


def families(slip: Slip) -> list[Told]:
    """The corrections of a slip, those of one mistake at one site taken together."""
    groups: dict[object, list[tuple[Supposed, float]]] = {}
    for one, chance in zip(slip.supposed, slip.chances, strict=True):
        key = (one.site, tuple(cause.mistake.name for cause in one.causes))
        groups.setdefault(key, []).append((one, chance))
    told = [
        Told(max(group, key=lambda pair: pair[1])[0], sum(chance for _, chance in group))
        for group in groups.values()
    ]
    return sorted(told, key=lambda one: -one.chance)


def _finding(slip: Slip, others: Sequence[Slip]) -> Finding:
    told = families(slip)
    sheet = slip.scene.sheet
    readings = (sheet.readings[slip.scene.spot.number].name,)
    return Finding(
        "slip",
        " ".join([*_sentences(slip, told), *_either(slip, others)]),
        readings=readings,
        explanations=tuple(_explanations(slip)),
    )


def _sentences(slip: Slip, told: list[Told]) -> Iterator[str]:
    least = max(_NAMED, _TRUSTED * slip.chance)
    best = told[0] if told and told[0].chance >= least else None
    which = slip.suspects[0]
    others = len(slip.suspects) - 1
    and_so = f" (and {others} more there)" if others else ""
    if best is None:
        yield (
            f"{which}{and_so} does not fit all the others: {_expected(slip)}. No usual mistake "
            f"explains it ({_odds(slip.chance, slip.none)} against its being right)."
        )
    else:
        yield (
            f"{which}{and_so} does not fit all the others: {_fits(best.best)}, "
            f"{_odds(best.chance, slip.none)} against its being right as written."
        )
    also = [one for one in told[1:] if best and one.chance > _AS_LIKELY * best.chance]
    if also:
        yield f"Nearly as likely: {'; or '.join(_fits(one.best) for one in also[:_MENTIONED])}."
    left = " and the values leave it out" if slip.left_out else ""
    yield f"Nothing was changed{left}: look at it again, then {_what_to_write(slip, best)}."
    if slip.cleared:
        yield (f"Corrected so, what was left out besides fits again: {'; '.join(slip.cleared)}.")


def _either(slip: Slip, others: Sequence[Slip]) -> Iterator[str]:
    """That one of several is enough, and what tells which."""
    if others:
        names = ", ".join(dict.fromkeys(one.suspects[0] for one in others))
        chance = 100.0 * slip.chance
        yield (
            f"Either this or {names} is wrong, {chance:.0f} % this one: reading either once more, "
            "or the same thing in another way, tells which."
        )


def _expected(slip: Slip) -> str:
    """What was read at the first suspect, and what all the others foretell."""
    before, place = slip.scene.as_written, suspects(slip.scene)[0]
    assert before is not None
    row = before.rows[place]
    convention: Convention | None = "pp" if row.unit == "V" else None
    read, mean = (
        show_plain(value, row.unit, 3, convention)
        for value in (row.observed, float(before.mean[place]))
    )
    return f"{read} was read, {mean} is expected"


def _what_to_write(slip: Slip, best: Told | None) -> str:
    strike = (
        'write "-" in its cell' if slip.scene.spot.row is not None else 'strike it (struck = "why")'
    )
    if best is None or best.best.free:
        return f"correct it or {strike}"
    return f"write {_change(slip.scene.sheet, best.best)}, or {strike}"


def shown(slip: Slip) -> list[Told]:
    """The corrections that are listed with their odds, the likeliest first."""
    return [one for one in families(slip) if one.chance >= LEAST][:MOST]


def _explanations(slip: Slip) -> Iterator[Explanation]:
    for one in shown(slip):
        change = "" if one.best.free else _change(slip.scene.sheet, one.best)
        yield Explanation(_what(one.best), change, min(one.chance, 1.0))
    yield Explanation("some other mistake there", "", slip.some_other)
    yield Explanation("no mistake", "", slip.none)


def _what(one: Supposed) -> str:
    return f"{_fits(one)} ({_because(one)})"


def _fits(one: Supposed) -> str:
    site = one.site
    if one.free:
        return f"{_short(site.text)} fits as about {_about(one)}"
    if site.what in ("quantity", "cell", "heading"):
        return f"{_short(site.text)} fits as {_short(one.text)}"
    if site.what == "done":
        return f"it fits if {site.text} was not {site.field}"
    if site.what == "choice":
        return f'it fits with {site.field} "{one.text}" for "{site.text}"'
    return f"it fits at {one.text} for {site.text}"


def _about(one: Supposed) -> str:
    read = parse_quantity(one.text, one.site.unit)
    return show_plain(read.value, read.unit, 3, read.convention)


def _short(text: str) -> str:
    """A quantity without its ± and range, and without the zeros of a moved decimal point."""
    plain = re.split(r"\s*[±@(]", text)[0].strip()
    return re.sub(r"(\d\.\d*?)0+(?=\D|$)", r"\1", plain).replace(". ", " ")


def _because(one: Supposed) -> str:
    causes = sorted(one.causes, key=lambda cause: -cause.odds)
    return ", or ".join(_cause_words(one, cause) for cause in causes)


def _cause_words(one: Supposed, cause: Cause) -> str:
    site = one.site
    return cause.mistake.words.format(was=site.text, other=one.text, field=site.field)


def _change(sheet: Sheet, one: Supposed) -> str:
    """How the sheet would say so."""
    site = one.site
    if site.field_is_table:
        return _in_table(sheet, one)
    if one.causes[0].mistake is LOADED:
        return f"{site.field} as read with nothing connected (about {_about(one)})"
    group, key = site.owner
    where = "" if group == "readings" else f"in [{group}.{key}] "
    name = str(site.key[-1]) if len(site.key) > 1 and isinstance(site.key[1], str) else site.field
    if site.what == "done":
        return f"{where}{site.field} without {site.text}"
    if site.what in ("node", "part") and len(site.key) > 1:
        return f"{where}{one.text} for {site.text} in {site.field}"
    return f'{where}{name} = "{one.text}"'


def _in_table(sheet: Sheet, one: Supposed) -> str:
    site = one.site
    table = getattr(sheet.readings[int(site.owner[1])], site.field)
    assert isinstance(table, Table)
    column = table.columns[int(site.key[2])]
    if site.what == "heading":
        return f"{column.name}/{one.text} at the head of its column"
    if site.what == "column":
        return f"{one.text}/{column.unit_text} at the head of its column"
    row = table.rows[int(site.key[1]) - 1]
    where = f"in the row of {row.cells[0]} {table.columns[0].unit_text}"
    if site.what == "node":
        return f'{where} "-" under {column.heading}, and the number under {one.text}'
    return f"{where} {in_column(column, site, one.text)} under {column.heading}"


def _odds(chance: float, none: float) -> str:
    """ "400 to 1", to two digits."""
    if none <= 0.0 or chance / none > _SURE:
        return "over a million to 1"
    ratio = chance / none
    if ratio < 10.0:
        return f"{show_plain(ratio, '1', 2)} to 1"
    size = floor(log10(ratio)) - 1
    return f"{round(ratio / 10**size) * 10**size:,} to 1".replace(",", " ")
