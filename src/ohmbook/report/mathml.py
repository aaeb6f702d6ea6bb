"""A worked formula as MathML Core, so that a page sets it as a book would.

What is read is what the workings write: "X = R q / sqrt(1 - q^2) = 49.8 Ω x 0.5 / ...". A number
may have a unit, things side by side are multiplied, and a fraction takes in what is multiplied
before its bar. Whatever is none of this stands there as text, unchanged: nothing is left out.

Source of the elements: "MathML Core" (W3C Candidate Recommendation, 2025), sections 3.2 and 3.3.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

_TOKEN = re.compile(
    r"\s*(?:(?P<number>[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?)"
    r"|(?P<word>[^\W\d_]+'?|%)"
    r"|(?P<sign>[-+/^()=,]|×|−|±))"
)
_UNIT = re.compile(r"[fpnuµμmkMG]?(?:Vpp|Vrms|V|App|Arms|A|Ω|ohm|Hz|H|F|s|W)|%|dB|deg|div|digits?")
_GREEK = {"pi": "π", "omega": "ω", "tau": "τ", "phi": "φ"}
_TIMES = ("x", "×")
_MINUS = {"-": "−"}
_THIN = '<mspace width="0.17em"></mspace>'
_OPENS = ("number", "word", "(")


class _UnreadError(Exception):
    """This is no formula of that kind."""


def mathml(formula: str) -> str:
    """A formula as a `math` element.

    Args:
        formula: as a working's step has it.

    Returns:
        Markup with everything escaped; text alone where it is no formula.
    """
    try:
        return f'<math displaystyle="true">{_Reader(formula).whole()}</math>'
    except _UnreadError:
        return f"<math><mtext>{escape(formula)}</mtext></math>"


class _Reader:
    """Reads a formula from left to right."""

    def __init__(self, formula: str) -> None:
        self._tokens, self._place = _tokens(formula), 0

    def whole(self) -> str:
        """Everything, equation by equation."""
        found = [self._sum()]
        while self._next("="):
            found += ["<mo>=</mo>", self._sum()]
        if self._place < len(self._tokens):
            raise _UnreadError
        return _row(found)

    def _peek(self, ahead: int = 0) -> tuple[str, str]:
        place = self._place + ahead
        return self._tokens[place] if place < len(self._tokens) else ("", "")

    def _next(self, *texts: str) -> str:
        kind, text = self._peek()
        if kind and text in texts:
            self._place += 1
            return text
        return ""

    def _sum(self) -> str:
        sign = self._next("-", "−")
        found = [_operator(sign)] if sign else []
        found.append(self._product())
        while sign := self._next("+", "-", "−", ","):
            found += [_operator(sign), self._product()]
        return _row(found)

    def _product(self) -> str:
        """Factors; a bar takes in all of them that stand before it."""
        found = [self._factors()]
        while True:
            if self._next(*_TIMES):
                found += ["<mo>×</mo>", self._factors()]
            elif self._next("/"):
                found = [f"<mfrac>{_row(_bare(found))}{_bare([self._factors()])[0]}</mfrac>"]
            else:
                return _row(found)

    def _factors(self) -> str:
        """Things side by side; a bar binds them less than they bind each other."""
        found = [self._power()]
        while self._begins():
            found += [_gap(found[-1]), self._power()]
        return _row(found)

    def _begins(self) -> bool:
        kind, text = self._peek()
        return (kind in _OPENS or text == "(") and text not in _TIMES

    def _power(self) -> str:
        base = self._one()
        if self._next("^"):
            return f"<msup>{base}{self._one()}</msup>"
        return base

    def _one(self) -> str:
        kind, text = self._peek()
        self._place += 1
        if text == "(":
            inner = self._sum()
            if not self._next(")"):
                raise _UnreadError
            return f'<mrow><mo stretchy="true">(</mo>{inner}<mo stretchy="true">)</mo></mrow>'
        if kind == "number":
            return self._with_unit(text)
        if text == "sqrt" and self._next("("):
            inner = self._sum()
            if not self._next(")"):
                raise _UnreadError
            return f"<msqrt>{inner}</msqrt>"
        if kind == "word" and text not in _TIMES:
            return _word(text)
        raise _UnreadError

    def _with_unit(self, number: str) -> str:
        """A number, its unit, and its limits with theirs: one thing to whatever stands around."""
        found = [f"<mn>{number}</mn>"]
        kind, text = self._peek()
        if kind == "word" and _UNIT.fullmatch(text):
            self._place += 1
            shown = text.replace("u", "µ", 1) if text.startswith("u") else text
            found += [f'{_THIN}<mi mathvariant="normal">{escape(shown)}</mi>']
        if self._peek()[1] == "±" and self._peek(1)[0] == "number":
            limits = self._peek(1)[1]
            self._place += 2
            found += ["<mo>±</mo>", self._with_unit(limits)]
        return _row(found)


def _tokens(formula: str) -> Sequence[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    place, text = 0, formula.strip()
    while place < len(text):
        match = _TOKEN.match(text, place)
        if match is None or match.lastgroup is None:
            raise _UnreadError
        kind = match.lastgroup
        found.append((kind, match[kind]))
        place = match.end()
    if not found:
        raise _UnreadError
    return found


def _operator(sign: str) -> str:
    return f"<mo>{_MINUS.get(sign, sign)}</mo>"


def _word(text: str) -> str:
    """A letter is a quantity, more of them a word."""
    if text in _GREEK:
        return f"<mi>{_GREEK[text]}</mi>"
    if text.endswith("'") and len(text) == 2:
        return f"<msup><mi>{escape(text[0])}</mi><mo>′</mo></msup>"
    return f"<mi>{escape(text)}</mi>" if len(text) == 1 else f"<mtext>{escape(text)}</mtext>"


def _gap(before: str) -> str:
    """Between things side by side: a word keeps its space."""
    return f'<mspace width="{0.3 if "mtext" in before else 0.17}em"></mspace>'


def _row(found: Sequence[str]) -> str:
    return found[0] if len(found) == 1 else f"<mrow>{''.join(found)}</mrow>"


_OPEN = '<mrow><mo stretchy="true">(</mo>'
_CLOSE = '<mo stretchy="true">)</mo></mrow>'


def _bare(found: Sequence[str]) -> Sequence[str]:
    """Without the brackets that a bar makes needless."""
    if len(found) != 1 or not (found[0].startswith(_OPEN) and found[0].endswith(_CLOSE)):
        return found
    inner = found[0][len(_OPEN) : -len(_CLOSE)]
    return found if _crosses(inner) else [f"<mrow>{inner}</mrow>"]


def _crosses(inner: str) -> bool:
    """Whether the first bracket closes before the last one."""
    depth = 0
    for one in re.findall(r">([()])<", inner):
        depth += 1 if one == "(" else -1
        if depth < 0:
            return True
    return False
