"""A known resistor and a part in series across the source: three and equal voltages."""

from __future__ import annotations

from collections.abc import Iterable

from ohmbook.bench import cautions
from ohmbook.bench.besides import resistor_problems
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Reading
from ohmbook.bench.screen import screen
from ohmbook.circuit.network import Branch, Drive, Network, Pair
from ohmbook.documents.fields import OhmsOrPart, SomeHertz
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.units.quantity import Quantity

ON_BOTH: Pair = ("out", "com")
ON_RESISTOR: Pair = ("out", "x")
ON_PART: Pair = ("x", "com")


class InSeries(Reading):
    """A part in series with a known resistor, read at one frequency."""

    part: str
    resistor: OhmsOrPart
    frequency: SomeHertz

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A part and a resistor that are two things."""
        near = "expected one near the part's impedance"
        yield from resistor_problems(self.part, self.resistor, sheet, near)

    def connected(self, desk: Desk, probes: tuple[Pair, ...], title: str) -> SetUp:
        """Source, resistor and part in series, and where the voltages are read."""
        source, _ = desk.source(self)
        on = screen(desk, self)
        owner = desk.named_or_stated(f"{self.name}: resistor", "resistance", self.resistor)
        branches = (Branch(owner, "resistor", ON_RESISTOR), desk.branch(self.part, ON_PART))
        network = Network(branches, Drive(ON_BOTH, source), probes)
        scope = on.name or "scope"
        clips = (
            Clip("source", source, "+", "out"),
            Clip("source", source, "-", "com"),
            Clip("scope", scope, "tip", "out"),
            Clip("scope", scope, "tip", "x"),
            Clip("scope", scope, "ground", "com"),
        )
        first = (cautions.DISCHARGE,) if desk.part(self.part).kind == "capacitor" else ()
        return SetUp(title, network, clips, (*first, cautions.SCOPE_EARTH, cautions.DIFFERENCE))

    def resistor_ohm(self, value: float | None) -> float:
        """The resistor's resistance; `value` is its settled one where a part's name stands."""
        return self.resistor.value if isinstance(self.resistor, Quantity) else (value or 0.0)
