"""Two boards compared: a sentence, then every part."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from ohmbook.documents.comparison import Comparison, PartDifference
from ohmbook.report.layout import Adaptive, bullets, joined, section, table
from ohmbook.report.words import chance, listed, percent
from ohmbook.units.show import show_plain

DOUBTFUL = 0.01
_WIDE = 76


def compare_page(found: Comparison) -> RenderableType:
    """What differs, what agrees, what cannot be told, and on what that rests."""
    return joined(
        (
            section("Two boards compared", *_titles(found), Text(), bullets(sentences(found))),
            section("Every part", _every(found)),
            section("What this rests on", bullets(_grounds(found))),
        )
    )


def _titles(found: Comparison) -> list[Text]:
    """Which board is which: title and file, since two sheets may well have the same title."""
    both = zip(("left: ", "right:"), found.titles, found.files, strict=True)
    return [
        Text(f"{side} {title}{f' ({file})' if file not in ('', title) else ''}")
        for side, title, file in both
    ]


def _every(found: Comparison) -> RenderableType:
    """A row for each part; on a narrow screen a few lines, so that no figure is cut off."""
    rows = [_row(one, found.contradicted) for one in found.parts]
    columns = ("part", ">left", ">right", ">right over left", "", "verdict")
    return Adaptive(
        lambda: table(columns, rows), lambda: joined(_narrow(row) for row in rows), _WIDE
    )


def _narrow(row: Sequence[str | Text]) -> RenderableType:
    name, left, right, change, at, verdict = (str(cell) for cell in row)
    where = f" {at}" if at else ""
    return Text(f"{name}  {left}, right {right}{where}: {verdict}\n    {change}")


def sentences(found: Comparison) -> list[str]:
    """The comparison in a few sentences: whether the readings agree where they hardly do, and
    unless they contradict each other the parts, the differences first."""
    return [*_warned(found), *([] if found.contradicted else _compared(found))]


def _warned(found: Comparison) -> list[str]:
    if found.p_value is None or found.p_value >= DOUBTFUL:
        return []
    odds = f"(probability {found.p_value:.1g})"
    if found.contradicted:
        return [
            f"The readings of the two boards do not agree {odds}, so that nothing can be said "
            "of any part. Settle each sheet alone first, and see what it finds: a slip, or a "
            "sketch that is not so"
        ]
    return [
        f"The readings of the two boards hardly agree {odds}: settle each sheet alone, and see "
        "what it finds, before what follows is relied on"
    ]


def _compared(found: Comparison) -> list[str]:
    differ = [one for one in found.parts if one.verdict == "differs"]
    agree = [one for one in found.parts if one.verdict == "agrees"]
    open_ = [one for one in found.parts if one.verdict == "not told"]
    likely = [one for one in open_ if _likely(one)]
    rest = [one for one in open_ if one not in likely]
    told = [_differs(one, "differs") for one in differ]
    told += [f"{_differs(one, 'probably differs')}: read more of it" for one in likely]
    if agree:
        who = "the rest agree" if told and not rest else f"{_names(agree)} agree"
        who = who[0].upper() + who[1:]
        who = who if len(agree) > 1 or who.startswith("The rest") else f"{who}s"
        widest = max(max(one.read_high - 1.0, 1.0 - one.read_low) for one in agree)
        told.append(f"{who} within what was read: no difference above {percent(widest)}")
    if not differ and not open_:
        told.append("No part is seen to differ")
    if rest:
        told.append(
            f"{listed(_left_open(one, found) for one in rest)} cannot be told apart or alike yet: "
            "read more of the right board (ohmbook next names what)"
            + ("" if found.alike else "; " + _LEAN)
        )
    return told


def _likely(one: PartDifference) -> bool:
    return one.verdict == "not told" and one.probability > 0.5


def _left_open(one: PartDifference, found: Comparison) -> str:
    """A part with what the readings alone leave open, where the table shows a belief as well."""
    if found.alike is None:
        return one.name
    low, high = _change(one.read_low), _change(one.read_high)
    return f"{one.name} (the readings alone leave {low} to {high})"


_LEAN = (
    'if the boards are meant to be alike, say so (--alike "5 %"), and a few readings of the '
    "second will do"
)


def _differs(one: PartDifference, verb: str) -> str:
    more = "more" if one.ratio > 1.0 else "less"
    near, far = sorted((abs(one.low - 1.0), abs(one.high - 1.0)))
    return (
        f"{one.name} {verb}: {show_plain(one.right, one.unit, 3)} on the right is "
        f"{percent(abs(one.ratio - 1.0))} {more} than {show_plain(one.left, one.unit, 3)} on the "
        f"left ({percent(near)} to {percent(far)}; {chance(one.probability)} likely to differ)"
    )


def _row(one: PartDifference, contradicted: bool) -> list[str | Text]:
    at = "" if one.frequency_hz is None else f"at {show_plain(one.frequency_hz, 'Hz', 2)}"
    told = "may differ" if _likely(one) and not contradicted else one.verdict
    verdict = Text(told, style="yellow" if "differs" in told else "")
    return [
        one.name,
        show_plain(one.left, one.unit, 3),
        show_plain(one.right, one.unit, 3),
        f"{_change(one.ratio)} ({_change(one.low)} to {_change(one.high)})",
        at,
        verdict,
    ]


def _change(ratio: float) -> str:
    if not 0.5 < ratio < 2.0:
        return f"x {show_plain(ratio, '1', 2)}"
    return f"{round(100.0 * (ratio - 1.0), 1) + 0.0:+.1f} %"  # no minus before a zero


def _grounds(found: Comparison) -> list[str]:
    told = [_judged(found)]
    if found.shared:
        told.append(
            f"Taken to be the same for both boards, since both sheets state it alike: "
            f"{listed(found.shared)}. Their errors cancel in the ratios; where others were used, "
            "give them other names in one sheet"
        )
    else:
        told.append(
            "No instrument or source is stated alike in both sheets, so none of their errors "
            "cancel; where the same ones were used, name and state them alike"
        )
    if found.answers > 1:
        told.append(
            f"{found.answers} answers fit the readings of both boards; the likeliest one is shown, "
            "the intervals hold all of them, and what they tell differently is not told"
        )
    if found.once:
        told.append(f"In both sheets alike, and counted once: {listed(found.once)}")
    for names, side in ((found.only_left, "left"), (found.only_right, "right")):
        if names:
            told.append(f"Only on the {side}: {listed(names)}")
    return told


def _judged(found: Comparison) -> str:
    count = len(found.parts)
    if found.alike is None:
        return (
            f"Nothing is believed of the right board beforehand. {count} parts are compared at "
            "once; of two equal boards anything would be claimed at most once in 20 times (Holm)"
        )
    return (
        f"The boards are believed to be alike within {100.0 * found.alike:.3g} %, but for a few "
        "parts; that none differs was taken to be as likely as that any does. A part is said to "
        "differ from 95 % on"
    )


def _names(parts: Sequence[PartDifference]) -> str:
    return listed(one.name for one in parts)
