"""What mends a likely slip, as the text of the reading that would take its place."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ohmbook.counsel.rivals import Slip
from ohmbook.counsel.screening import Supposed
from ohmbook.counsel.slip_words import shown
from ohmbook.documents.reading import Sheet
from ohmbook.report.words import chance
from ohmbook.sheet.plain import reading_text
from ohmbook.sheet.write import write_sheet


@dataclass(frozen=True, slots=True)
class Fix:
    """A correction of one reading.

    Args:
        reading: its name.
        words: what would stand there ("inductance: 328 uH ± 2 %").
        odds: how likely that is, in words.
        text: the whole reading as a sheet has it, corrected.
    """

    reading: str
    words: str
    odds: str
    text: str


def fixes(sheet: Sheet, slip: Slip, raw: Mapping[str, Mapping[str, Any]]) -> tuple[Fix, ...]:
    """The corrections of a slip that concern one reading and say what to write.

    Args:
        sheet: as it stands.
        slip: found in it.
        raw: plain values of the readings by name, as the notebook has them.
    """
    found = []
    for told in shown(slip):
        fix = _fix(sheet, told.best, raw)
        if fix is not None:
            found.append(Fix(*fix[:2], chance(told.chance), fix[2]))
    return tuple(found)


def _fix(
    sheet: Sheet, best: Supposed, raw: Mapping[str, Mapping[str, Any]]
) -> tuple[str, str, str] | None:
    group, key = best.site.owner
    if group != "readings" or best.free or len(best.sheet.readings) != len(sheet.readings):
        return None
    name = sheet.readings[int(key)].name
    if name not in raw:
        return None
    before, after = _plain(sheet, int(key)), _plain(best.sheet, int(key))
    changed = {one for one in {*before, *after} if before.get(one) != after.get(one)}
    kept = {one: held for one, held in raw[name].items() if one not in changed}
    put = {one: after[one] for one in after if one in changed}
    order = list(dict.fromkeys([*raw[name], *put]))
    both = {**kept, **put}
    return name, _words(best), reading_text({one: both[one] for one in order if one in both})


def _words(best: Supposed) -> str:
    """What is written where: a table's cell is known by what stands in it."""
    if best.site.field_is_table:
        return f"{best.text} for {best.site.text}"
    place = ", ".join(str(one) for one in best.site.key)
    return f"{place}: {best.text}" if best.text else place


def _plain(sheet: Sheet, index: int) -> dict[str, Any]:
    """A reading as it would be written."""
    found: dict[str, Any] = tomllib.loads(write_sheet(sheet))["readings"][index]
    return found
