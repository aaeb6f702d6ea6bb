"""The desk: where a sheet's statements become unknowns, constants and causes of error.

One desk serves one compilation. Kinds ask it for what they need (a part's branch, a source's EMF,
how an instrument shows a voltage) and it keeps the books: each cause once, by identity, so that
readings which share it share it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import exp, log, sqrt

from ohmbook.bench import priors
from ohmbook.bench.likes import Likeable, filled
from ohmbook.bench.row import Row
from ohmbook.circuit.network import Branch, Id, Pair
from ohmbook.documents.finding import Finding, FindingKind
from ohmbook.documents.part import (
    ELEMENT,
    MAIN_QUANTITY,
    Capacitor,
    Driver,
    Inductor,
    Instrument,
    Part,
    Source,
)
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.errors import SettleError
from ohmbook.evidence.unknown import Prior, Scale, Unknown
from ohmbook.units.quantity import Quantity


class Desk:
    """Books of one compilation: unknowns, constants, rows that belong to no one reading.

    Args:
        sheet: the problem; its references have been checked.
        beliefs: priors that replace those of the books, by id (a marking's meaning, for one).
    """

    def __init__(self, sheet: Sheet, beliefs: dict[Id, Prior] | None = None) -> None:
        self.sheet = sheet
        self.beliefs = beliefs or {}
        self.unknowns: dict[Id, Unknown] = {}
        self.constants: dict[Id, float] = {}
        self.same: dict[Id, Id] = {}
        self.rows: list[Row] = []
        self.findings: dict[Finding, None] = {}
        self._things: dict[tuple[str, str], Likeable] = {}
        self._numbers: dict[object, int] = {}

    # -- books ------------------------------------------------------------------------------

    def unknown(self, one: Id, scale: Scale, prior: Prior, *, nuisance: bool = True) -> Id:
        """Enter an unknown, once; an exact belief (u = 0) is a constant."""
        prior = self.beliefs.get(one, prior)
        if one in self.unknowns or one in self.constants:
            return one
        if prior.u == 0.0:
            return self.constant(one, _natural(prior.centre, scale))
        self.unknowns[one] = Unknown(one, scale, prior, nuisance)
        return one

    def constant(self, one: Id, value: float) -> Id:
        """Enter a value that is taken as exact."""
        self.constants.setdefault(one, value)
        return one

    def limits(self, one: Id, half_width: float) -> Id:
        """A cause of error known by its limits about 0: rectangular (GUM 4.3.7)."""
        if one in self.unknowns:
            return one
        return self.unknown(one, "linear", Prior(0.0, half_width / sqrt(3.0), "rectangle"))

    def find(
        self,
        kind: FindingKind,
        message: str,
        *,
        readings: Sequence[str] = (),
        parts: Sequence[str] = (),
    ) -> None:
        """Keep a finding, once."""
        self.findings.setdefault(Finding(kind, message, tuple(readings), tuple(parts)))

    def number(self, what: object) -> int:
        """A running number from 1 for each distinct thing, for names of shared causes."""
        return self._numbers.setdefault(what, len(self._numbers) + 1)

    # -- stated quantities ------------------------------------------------------------------

    def stated(self, owner: str, quantity: str, written: Quantity, *, nuisance: bool = True) -> Id:
        """A positive quantity as the sheet states it; without a spread it is exact, and told."""
        one = (owner, quantity)
        if written.spread is None or written.u == 0.0:
            if written.spread is None and written.value > 0.0:
                self.find(
                    "assumption",
                    f"{owner}: {quantity} {written.text} is taken as exact, since no ± is stated",
                    parts=self._as_part(owner),
                )
            return self.constant(one, written.value)
        if written.value <= 0.0:
            raise SettleError(
                f"{owner}: {quantity} {written.text} has a spread about zero; "
                "expected a positive value"
            )
        return self.unknown(one, "log", priors.stated_prior(written), nuisance=nuisance)

    def named_or_stated(self, owner: str, quantity: str, written: Quantity | str) -> str:
        """The owner of a quantity that is written out, or that a part's name stands for."""
        if isinstance(written, str):
            self.part(written)
            return written
        self.stated(owner, quantity, written)
        return owner

    # -- parts ------------------------------------------------------------------------------

    def part(self, name: str) -> Part:
        """A part; all its quantities are entered in the books."""
        part = self.sheet.parts[name]
        if (name, _main(part)) not in self.unknowns and (name, _main(part)) not in self.constants:
            self._enter(name, part)
        return part

    def branch(self, name: str, ends: Pair | None = None) -> Branch:
        """A part as a branch between its own nodes, or between others.

        A driver is its voice coil's resistance, as direct current sees it.
        """
        part = self.part(name)
        between = ends or part.between
        assert between is not None
        return Branch(name, ELEMENT[part.kind], between)

    def load(self, name: str) -> Branch:
        """A part between its own nodes as a signal sees it: a driver is near its rated ohms."""
        branch, part = self.branch(name), self.sheet.parts[name]
        if not isinstance(part, Driver):
            return branch
        owner, _ = self.unknown(
            (rated_owner(name), "resistance"), "log", priors.load_of(part.rated)
        )
        return replace(branch, owner=owner)

    def _enter(self, name: str, part: Part) -> None:
        one = (name, _main(part))
        made = getattr(part, "made_of", None)
        if made:
            self._made_of(name, part, made)
        elif isinstance(part, Driver):
            self.unknown(one, "log", priors.voice_coil(part.rated), nuisance=False)
        elif part.stated is not None:
            self.stated(*one, part.stated, nuisance=False)
        else:
            self.unknown(one, "log", priors.main_prior(part), nuisance=False)
        if isinstance(part, Inductor | Capacitor):
            self._losses(name, part)

    def _made_of(self, name: str, part: Part, made: tuple[Quantity, ...]) -> None:
        total = sum(one.value for one in made)
        u = sqrt(sum(one.u**2 for one in made))
        if u == 0.0:
            self.find(
                "assumption",
                f"{name}: made of {' and '.join(q.text for q in made)}, "
                "which are taken as exact, since no ± is stated",
                parts=[name],
            )
        self.unknown((name, _main(part)), "log", Prior(log(total), u / total), nuisance=False)

    def _losses(self, name: str, part: Inductor | Capacitor) -> None:
        resistance = part.resistance
        if resistance is None:
            self.unknown((name, "resistance"), "log", priors.resistance_prior(part), nuisance=False)
        else:
            self.stated(name, "resistance", resistance, nuisance=False)
            if resistance.value == 0.0:
                return
        self.unknown((name, "loss"), "linear", priors.loss_prior(part))
        winding = part.winding_capacitance if isinstance(part, Inductor) else None
        if winding is not None:
            self.stated(name, "winding_capacitance", winding)

    # -- instruments and sources ------------------------------------------------------------

    def instrument(self, reading: ReadingBase) -> tuple[str, Instrument | None]:
        """The instrument of a reading, with its starting point filled in; None if it has none."""
        name = reading.instrument
        if name is None:
            return "", None
        found = self._filled("instrument", name, self.sheet.instruments[name])
        assert not isinstance(found, Source)
        return name, found

    def source(self, reading: ReadingBase) -> tuple[str, Source]:
        """The source of a reading; its output resistance is entered in the books."""
        name = reading.source
        if name is None:
            raise SettleError(
                f"{reading.name}: no source is named; "
                'write source = "..." or name it under [defaults]'
            )
        found = self._filled("source", name, self.sheet.sources[name])
        assert isinstance(found, Source)
        if found.resistance is not None:
            self.stated(name, "resistance", found.resistance, nuisance=False)
        else:
            self.unknown((name, "resistance"), "log", priors.SOURCE_RESISTANCE, nuisance=False)
        return name, found

    def _filled(self, kind: str, name: str, thing: Likeable) -> Likeable:
        if (kind, name) not in self._things:
            done, words = filled(thing)
            self._things[(kind, name)] = done
            if words:
                self.find(
                    "assumption",
                    f"{name} is taken to be like a usual {thing.like}: {', '.join(words)}",
                )
        return self._things[(kind, name)]

    def _as_part(self, owner: str) -> tuple[str, ...]:
        return (owner,) if owner in self.sheet.parts else ()


def rated_owner(driver: str) -> str:
    """Whose resistance a driver's rated one is; the driver's own is its voice coil's."""
    return f"{driver} (rated)"


def _main(part: Part) -> str:
    return MAIN_QUANTITY[part.kind]


def _natural(t: float, scale: Scale) -> float:
    return exp(t) if scale == "log" else t
