"""Letters between or behind digits: letter-and-digit codes, units, two digits and a letter.

References: IEC 60062 (the letter stands where the decimal point is). EIA-96: two digits count
into E96, the letter is a power of ten (Y, Z and F from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace

from ohmbook.units.marking.digits import NUMBER, is_zero, numbers
from ohmbook.units.marking.meaning import PartKindName
from ohmbook.units.marking.senses import LETTERS, UNITS, Sense, senses
from ohmbook.units.marking.values import Value, has_label, label
from ohmbook.units.marking.weights import (
    EIA_96,
    EIA_96_OTHER_LETTERS,
    MH_UH_DOUBTFUL,
    UNIT_DOUBTFUL,
    UNIT_LETTER,
    Factor,
    Form,
    in_band,
)
from ohmbook.units.number import Written
from ohmbook.units.series import series

_SPELLED = "|".join(sorted({*UNITS, *LETTERS}, key=len, reverse=True))
_WITH_UNIT = re.compile(rf"({NUMBER})\s?({_SPELLED})(?:(?<=ohm)s)?", re.IGNORECASE)
_LETTER_CODE = re.compile(
    rf"([0-9]{{0,3}})({'|'.join(LETTERS)})([0-9]{{1,4}})(?![0-9.,])(?:\s?(ohm|[FH](?![A-Z])))?",
    re.IGNORECASE,
)
_EIA = re.compile(r"(0[1-9]|[1-8][0-9]|9[0-6])([XYZRSA-F])(?![A-Za-z0-9])")
_EIA_POWERS = {"Z": -3, "Y": -2, "R": -2, "X": -1, "S": -1,
               "A": 0, "B": 1, "C": 2, "D": 3, "E": 4, "F": 5}  # fmt: skip
_MOST_CODE_DIGITS = 4
_BASES: Mapping[str, PartKindName] = {"f": "capacitor", "h": "inductor", "ohm": "resistor"}


def read_lettered(text: str, start: int) -> Iterator[tuple[int, tuple[Value, ...]]]:
    """Every value with letters that begins at a place in a text; zero is none.

    Yields:
        Where it ends, and every way to read it, for every kind of part.
    """
    if code := _LETTER_CODE.match(text, start):
        yield code.end(3), tuple(_letter_code(code, None))
        if code[4]:
            yield code.end(4), tuple(_letter_code(code, code[4]))
    unit = _WITH_UNIT.match(text, start)
    if unit and not is_zero(unit[1]):
        yield unit.end(), tuple(_with_unit(unit[1], unit[2]))
    if eia := _EIA.match(text, start):
        yield eia.end(), (_eia_96(eia[1], eia[2]),)


def looks_like_letter_code(text: str) -> bool:
    """Whether a whole text is a letter-and-digit code such as 4K75."""
    code = _LETTER_CODE.fullmatch(text)
    return code is not None and any(_letter_code(code, code[4]))


def _letter_code(code: re.Match[str], base: str | None) -> Iterator[Value]:
    whole, letter, part, _ = code.groups()
    digits = f"{whole or '0'}.{part}"
    if len(whole + part) > _MOST_CODE_DIGITS or is_zero(digits):
        return
    for sense in senses(letter):
        if base is None or _BASES[base.lower()] == sense.kind:
            unit = label(sense.kind, sense.power)
            how = f"letter code: {letter} stands for the decimal point, {digits} {unit}"
            number = Written(digits, sense.power)
            certain = base is None or len(base) > 1
            factors = (Factor(sense.weight, sense.why), Factor(1.0 if certain else UNIT_LETTER))
            form: Form = "unit" if base else "letter"
            yield Value(sense.kind, number, form, how, factors, figures=3)


def _with_unit(text: str, unit: str) -> Iterator[Value]:
    for number, factors in numbers(text):
        for sense in senses(unit):
            read = _united(number, sense, unit)
            read = replace(read, factors=(*read.factors, *factors))
            yield read
            if len(unit) > 1:
                yield from _doubtful(read, sense.power)


def _united(number: Written, sense: Sense, unit: str) -> Value:
    shown = f"{number.digits} {label(sense.kind, sense.power)}"
    factors = (Factor(sense.weight, sense.why),)
    scaled = number.times_ten_to(sense.power)
    if len(unit) > 1:
        return Value(sense.kind, scaled, "unit", f"a number with its unit: {shown}", factors)
    how = f"a number and a letter: {unit} makes it {shown}"
    return Value(sense.kind, scaled, "letter", how, factors, figures=3)


def _doubtful(read: Value, power: int) -> Iterator[Value]:
    """The same digits a thousand times larger or smaller, where that suits a crossover better."""
    for other in (power - 3, power + 3):
        number = read.number.times_ten_to(other - power)
        if not has_label(read.kind, other) or not _suits_better(read, number):
            continue
        shown = f"{number.digits} {label(read.kind, other)}"
        easily = read.kind == "inductor" and {power, other} == {-6, -3}
        doubt = Factor(MH_UH_DOUBTFUL if easily else UNIT_DOUBTFUL, "the unit is doubtful")
        how = f"a number with a doubtful unit: {shown}"
        yield replace(read, number=number, how=how, factors=(*read.factors, doubt))


def _suits_better(read: Value, number: Written) -> bool:
    as_written = in_band(read.kind, read.number.value)
    return in_band(read.kind, number.value).weight > as_written.weight


def _eia_96(index: str, letter: str) -> Value:
    digits = str(round(100 * series("E96")[int(index) - 1]))
    power = _EIA_POWERS[letter]
    factor = Factor(EIA_96_OTHER_LETTERS if letter in "RS" else EIA_96)
    how = f"EIA-96: {index} stands for {digits}, {letter} for x 10^{power}, in ohm"
    return Value("resistor", Written(digits, power), "letter", how, (factor,), figures=3)
