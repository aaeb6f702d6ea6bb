"""A whole plan: so many numbers, chosen together, ordered by what has to be clipped.

What it asks for is in sheet form, "?" where a number is to be filled in, so that the filled plan
goes back into the sheet as it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from ohmbook.bench.estimates import Answer
from ohmbook.bench.kind import Wanted
from ohmbook.bench.kinds import KINDS
from ohmbook.counsel.aims import COVERAGE, Aim
from ohmbook.counsel.choice import Choice
from ohmbook.counsel.enough import Enough, enough
from ohmbook.counsel.next import cautions, shown_by
from ohmbook.counsel.offers import Option, Progress, Survey, Surveyor
from ohmbook.counsel.plan import chosen, exchanged, refined, seen_afresh
from ohmbook.counsel.wants import aim_at

SURE = 0.9
"""The share of the guesses of the truth that do at least as well as a plan promises."""
FIRST_GO, WORTH_TWO, VAGUE = 2 / 3, 9, 1.0
"""The first go's share of a plan, the fewest numbers that are worth two goes, and what is known so
badly that a plan can't see where it leads: half a 95 % interval, relative."""
REFINED = 0.9
"""How much of the work is done, about, before that is looked at."""


@dataclass(frozen=True, slots=True)
class Block:
    """One [[readings]] of a sheet, and what it should show where the table does not say it."""

    reading: dict[str, Any]
    expected: dict[str, str]


@dataclass(frozen=True, slots=True)
class Foreseen:
    """How well something will be known: half a 95 % interval, relative, now and after the plan."""

    name: str
    quantity: str
    now: float
    after: float


@dataclass(frozen=True, slots=True)
class Plan:
    """What to read, all of it.

    Args:
        blocks: in the order of the work.
        numbers: how many numbers are to be read.
        foreseen: how well each wanted thing will be known.
        within: the tolerance asked for, relative.
        cautions: of everything that is to be connected.
        enough: how far what is wanted is from good enough before it.
    """

    blocks: tuple[Block, ...]
    numbers: int
    foreseen: tuple[Foreseen, ...]
    within: float
    cautions: tuple[str, ...] = ()
    enough: Enough | None = None

    @property
    def beyond(self) -> tuple[Foreseen, ...]:
        """What may not be known within the tolerance: more may be needed for these."""
        return tuple(one for one in self.foreseen if one.after > self.within)

    @property
    def first_go(self) -> int | None:
        """How many numbers had better be planned and read first, and the rest planned when they
        are in: where next to nothing is known before; else None.

        On boards (benchmarks/planned_boards.py) the parts that come out worst gain most by it.
        """
        vague = any(one.now > VAGUE for one in self.foreseen)
        return round(FIRST_GO * self.numbers) if vague and self.numbers >= WORTH_TWO else None

    def document(self) -> dict[str, Any]:
        """As a JSON object (a contract: add to it, rename nothing)."""
        return {
            "readings": [{"reading": b.reading, "expected": b.expected} for b in self.blocks],
            "numbers": self.numbers,
            "first_go": self.first_go,
            "within": self.within,
            "foreseen": [
                {
                    "name": one.name,
                    "quantity": one.quantity,
                    "now": one.now,
                    "after": one.after,
                    "reached": one.after <= self.within,
                }
                for one in self.foreseen
            ],
            "cautions": list(self.cautions),
        }


def whole_plan(
    answer: Answer, numbers: int, aim: Aim | None = None, progress: Progress | None = None
) -> Plan:
    """The best readings of so many numbers, chosen together.

    Args:
        answer: the joint answer to the readings so far; there may be none.
        numbers: how many may be read; those that a reading needs beside its own count too.
        aim: what is wanted; every part where None.
        progress: called with (done, of) of the whole work.
    """
    aim = aim or aim_at(answer)
    told = enough(answer, aim)
    surveyor = Surveyor(answer, KINDS, progress)
    if not aim.targets or not surveyor.offers:
        return Plan((), 0, (), aim.within, (), told)
    first = chosen(surveyor, aim, numbers)
    choice = refined(surveyor, exchanged(surveyor, first), after_all=True)
    surveyor.report(REFINED)
    taken = sorted(choice.taken, key=_in_order)
    fresh = Choice(choice.survey, aim)
    now = fresh.expected()
    after = seen_afresh(surveyor, choice).expected(SURE)
    surveyor.report(1.0)
    return Plan(
        _blocks(answer, taken, choice.survey),
        sum(fresh.take(one) for one in taken),
        tuple(
            Foreseen(one.name, one.quantity, COVERAGE * float(u0), COVERAGE * float(u1))
            for one, u0, u1 in zip(aim.targets, now, after, strict=True)
        ),
        aim.within,
        (*_open_missing(answer, taken), *_cautions(answer, taken)),
        told,
    )


def _in_order(option: Option) -> tuple[bool, float, str, float]:
    """Without the source first; then what is least trouble to clip, low frequencies first."""
    f_hz = option.tuned[2] if option.tuned else 0.0
    return option.kind.uses_source, option.connection.effort, option.connection.name, f_hz


def _blocks(answer: Answer, taken: Sequence[Option], survey: Survey) -> tuple[Block, ...]:
    kinds = list(dict.fromkeys(one.kind for one in taken))
    names = {one.name for one in answer.compiled.sheet.readings}
    names.update(answer.compiled.sheet.waiting)
    blocks = []
    for kind in kinds:
        wanted = [
            Wanted(one.make().blank, shown_by(one, survey.outlooks[0]))
            for one in taken
            if one.kind is kind
        ]
        forms = _renamed(kind.together(wanted), names)
        each = len(forms) == len(wanted)
        for k, form in enumerate(forms):
            expected = wanted[k].expected if each else {}
            blocks.append(Block(form, {key: v for key, v in expected.items() if key in form}))
    return tuple(blocks)


def _renamed(forms: Sequence[dict[str, Any]], names: set[str]) -> list[dict[str, Any]]:
    """The forms under names that the sheet has not given yet, references with them."""
    new: dict[str, str] = {}
    for form in forms:
        old = str(form.get("name", ""))
        if old:
            number = next(k for k in range(1, 10000) if _numbered(old, k) not in names)
            new[old] = old if old not in names else _numbered(old, number)
            names.add(new[old])
    return [{key: _exchanged(key, value, new) for key, value in form.items()} for form in forms]


def _numbered(name: str, number: int) -> str:
    return f"{name.rstrip('0123456789 ')} {number}"


def _exchanged(key: str, value: Any, new: dict[str, str]) -> Any:
    if not isinstance(value, str):
        return value
    if key == "name":
        return new[value]
    return f"@{new[value[1:]]}" if value[:1] == "@" and value[1:] in new else value


def _open_missing(answer: Answer, taken: Sequence[Option]) -> Iterator[str]:
    """Sources whose open amplitude the plan's readings lean on and nothing states."""
    sources = answer.compiled.sheet.sources
    leaning = [
        one.make() for one in taken if one.kind.uses_source and "open" not in one.make().blank
    ]
    for name in dict.fromkeys(one.reading.source for one in leaning):
        if name is not None and sources[name].open is None:
            yield (
                f"read {name} open first and state it on the sheet, as open under "
                f"sources.{name}: without it amplitudes count only by their ratios."
            )


def _cautions(answer: Answer, taken: Sequence[Option]) -> tuple[str, ...]:
    """What to mind at everything that is to be connected, each once."""
    by_way = {one.connection.name: one.make().reading for one in taken}
    return cautions(answer, by_way.values())
