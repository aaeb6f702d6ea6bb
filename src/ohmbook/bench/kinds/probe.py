"""`probe`: amplitudes and phases at the board's nodes, nothing unsoldered.

The source is clipped to the board, the probe goes from node to node. One frequency with its
amplitudes, or a table of many.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, ClassVar, Literal, Self

from ohmbook.bench.board import OnBoard, board_cautions, load_watts
from ohmbook.bench.cells import Cell, cells_of, table_problems
from ohmbook.bench.desk import Desk
from ohmbook.bench.emf import frequency, open_amplitude
from ohmbook.bench.grounds import (
    counted_in,
    ground_node,
    grounds,
    owners_of,
    probe_load,
    probe_owner,
    shorting,
)
from ohmbook.bench.kind import FormWords, Tunable, View, Wanted, Way
from ohmbook.bench.layout import Look
from ohmbook.bench.probing import board_tunables
from ohmbook.bench.row import Row
from ohmbook.bench.screen import Driven, amplitude_row, screen
from ohmbook.bench.screens import Angle
from ohmbook.bench.tables import filled_table, tables
from ohmbook.bench.volts import said_vpp
from ohmbook.circuit.network import Network, Node, Pair
from ohmbook.documents.estimate import Step, Working
from ohmbook.documents.fields import Degrees, Hertz, TableText, Volts, VoltsOrReading
from ohmbook.documents.reading import Problem, Sheet
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.evidence.unknown import Shape
from ohmbook.units.parse import parse_quantity
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

PHASE_U_DEG = 3.0


class _Places:
    """Where the probe was: for each node the circuit with the probe's load there only."""

    def __init__(self, desk: Desk, reading: Probe, network: Network, nodes: Sequence[Node]) -> None:
        self.desk, self.reading, self.network, self.nodes = desk, reading, network, nodes
        owners = {node: probe_owner(screen(desk, reading), node) for node in nodes}
        ids = network.ids
        self.absent = {
            node: tuple(one for one in ids if one[0] in owners.values() and one[0] != owner)
            for node, owner in owners.items()
        }

    def look(self, node: Node, f: Quantity) -> tuple[Look, int]:
        """The circuit at one frequency with the probe on one node, and which probe that is."""
        shift = frequency(self.desk, self.reading, f)
        look = Look(self.network, f.value, shift, self.absent[node])
        return look, self.nodes.index(node)


class Probe(OnBoard):
    """Amplitudes (and phases against the source's EMF) at nodes; `at` is where the source is.

    `scope_ground` is the node of the scope's ground clip: the board's ground if not written.
    """

    form: ClassVar[FormWords] = FormWords(
        heading="Probe the board",
        does="Amplitudes at the board's nodes, nothing unsoldered: each one bears on every part.",
        labels={
            "at": "The generator is clipped to",
            "scope_ground": "The scope's ground clip is on",
            "open": "Amplitude with nothing connected",
            "frequency": "Frequency",
            "amplitudes": "Amplitudes",
            "phases": "Phases against the generator",
            "table": "Amplitudes",
            "detached": "Unplugged or unsoldered",
            "instead": "A resistor in a part's place",
            "shorted": "Bridged by a wire",
            "added": "Put between two nodes",
            "lifted": "One leg lifted",
        },
        helps={
            "detached": "drivers unplugged tell most",
            "table": '"-" where nothing was read',
            "open": "may stay empty where the generator's own is known",
        },
        order=("at", "detached", "table", "frequency", "amplitudes", "phases"),
        ways=(
            Way("many frequencies", ("table",)),
            Way("one frequency", ("amplitudes", "frequency", "phases"), needs=2),
        ),
        results=("amplitudes", "phases", "table"),
        seldom=(
            "phases",
            "scope_ground",
            "open",
            "instead",
            "shorted",
            "added",
            "lifted",
        ),
    )

    kind: Literal["probe"]
    at: str | tuple[str, str]
    scope_ground: str | None = None
    open: VoltsOrReading | None = None
    frequency: Hertz | None = None
    amplitudes: dict[str, Volts] | None = None
    phases: dict[str, Degrees] | None = None
    table: TableText | None = None

    def check(self, sheet: Sheet) -> Iterable[Problem]:
        """A frequency with amplitudes, or a table; grounds that do not short the board."""
        yield from self.board_problems(sheet)
        if self.table is None:
            if self.frequency is None:
                yield Problem(
                    ("frequency",),
                    'the frequency is missing; expected frequency = "1 kHz", or a table',
                )
            if not self.amplitudes and not self.phases:
                yield Problem(
                    ("amplitudes",),
                    'nothing was read; expected amplitudes = { in = "0.51 Vpp" } or a table',
                )
            for node, read in (self.amplitudes or {}).items():
                if read.value < 0.0:
                    yield Problem(
                        ("amplitudes", node),
                        f'"{read.text}" at {node}: an amplitude cannot be negative; expected what '
                        'was read, such as "0.51 Vpp"',
                    )
        elif self.frequency is not None or self.amplitudes or self.phases:
            yield Problem(
                ("table",),
                "a table has its own frequencies and amplitudes; expected "
                "either the table or single readings",
            )
        else:
            yield from table_problems(self.table, sheet)
        plus, minus = self._ends(sheet)
        if plus == minus:
            yield Problem(("at",), "the source is clipped to one node twice; expected two nodes")
        told = shorting(sheet, self, minus, self._reference(sheet))
        if told:
            yield Problem(("at",), told)

    def set_ups(self, desk: Desk) -> tuple[SetUp, ...]:
        """The board with the source on it, and the probe on one node after the other."""
        on = screen(desk, self)
        nodes = self._nodes()
        where = grounds(desk, self, self._ends(desk.sheet), self._reference(desk.sheet), on)
        probes: tuple[Pair, ...] = tuple((node, where.reference) for node in nodes)
        loads = tuple(one for pair in probes for one in probe_load(desk, on, pair))
        network = Network((*self.board(desk), *where.lead, *loads), where.drive, probes)
        tips = tuple(Clip("scope", on.name or "scope", "tip", node) for node in nodes)
        _, source = desk.source(self)
        title = f"source at {' and '.join(self._ends(desk.sheet))}, probe on {', '.join(nodes)}"
        return (
            SetUp(
                title,
                network,
                (*where.clips, *tips),
                board_cautions(desk, self),
                (*self.changes(), *load_watts(self, source), *counted_in(where.lead, loads)),
                owners_of(where.lead, loads),
            ),
        )

    def rows(self, desk: Desk) -> Sequence[Row]:
        """One row for each amplitude and each phase."""
        at = _Places(desk, self, self.set_ups(desk)[0].network, self._nodes())
        rows = [self._amplitude(desk, cell, at) for cell in self._cells()]
        return rows + [
            self._phase(desk, node, read, at) for node, read in (self.phases or {}).items()
        ]

    def expecting(self, value: float) -> tuple[Self, dict[str, str]]:
        """With the amplitude its node should show."""
        shown = f"{value:.3g} Vpp"
        amplitudes = {node: parse_quantity(shown, "V") for node in self.amplitudes or {}}
        words = dict.fromkeys(amplitudes, said_vpp(value))
        return self.model_copy(update={"amplitudes": amplitudes}), words

    def expecting_each(self, values: Sequence[float]) -> Self:
        """With the amplitudes its table's cells should show, row by row."""
        if self.table is None:
            return self.expecting(values[-1])[0]
        return self.model_copy(update={"table": filled_table(self.table, values)})

    def working(self, view: View) -> Working | None:
        """Impedance at the clips from the drop across the source's own resistance."""
        plus = self.at if isinstance(self.at, str) else self.at[0]
        cells = [cell for cell in self._cells() if cell.node == plus]
        source = view.value((self.source or "", "resistance"))
        open_ = view.value((self.source or "", "open"))
        if not cells or source is None or open_ is None:
            return None
        cell = cells[0]
        from ohmbook.bench.volts import amplitude

        ratio = amplitude(cell.read, None).vpp / open_
        drop = f"q = {cell.read.text} / {show_plain(open_, 'V', 3)} open"
        return Working(
            f"What the board is at {plus}, from {self.name}",
            self.name,
            (
                Step(
                    f"The share of the open amplitude left at {show_plain(cell.f.value, 'Hz')}",
                    drop,
                    f"{ratio:.4f}",
                ),
                Step(
                    "With the board as a plain resistance: the least it can be",
                    f"R q / (1 + q) = {show_plain(source, 'ohm')} x {ratio:.3f} / {1 + ratio:.3f}",
                    show_plain(source * ratio / (1 + ratio), "ohm"),
                ),
                Step(
                    "and the most",
                    f"R q / (1 - q) = {show_plain(source, 'ohm')} x {ratio:.3f} / {1 - ratio:.3f}",
                    show_plain(source * ratio / (1 - ratio), "ohm") if ratio < 1 else "no limit",
                ),
            ),
            "voltage divider and the triangle inequality, any textbook",
            "One amplitude only brackets the impedance. The full model predicts every amplitude "
            "of the reading from the sketch and settles all parts together.",
        )

    @classmethod
    def candidates(cls, desk: Desk, view: View) -> Sequence[Tunable]:
        """Every way to connect the board, every node, any frequency."""
        return tuple(board_tunables(cls, desk, view))

    @classmethod
    def together(cls, wanted: Sequence[Wanted]) -> Sequence[dict[str, Any]]:
        """One table for each connection: probe by probe across, frequency by frequency down."""
        return tables(wanted)

    # -- what was read ----------------------------------------------------------------------

    def _cells(self) -> Sequence[Cell]:
        if self.table is not None:
            return cells_of(self.table)
        assert self.frequency is not None
        return [Cell(self.frequency, node, read) for node, read in (self.amplitudes or {}).items()]

    def _nodes(self) -> tuple[Node, ...]:
        found = dict.fromkeys(cell.node for cell in self._cells())
        return tuple(dict.fromkeys([*found, *(self.phases or {})]))

    # -- how it was connected ---------------------------------------------------------------

    def _ends(self, sheet: Sheet) -> Pair:
        return (self.at, ground_node(sheet)) if isinstance(self.at, str) else self.at

    def _reference(self, sheet: Sheet) -> Node:
        return self.scope_ground or ground_node(sheet)

    def _amplitude(self, desk: Desk, cell: Cell, at: _Places) -> Row:
        emf, drift = open_amplitude(desk, self, cell.f.value, self.open)
        look, probe = at.look(cell.node, cell.f)
        label = f"{self.name}: {cell.node} at {show_plain(cell.f.value, 'Hz')}"
        return amplitude_row(
            desk, self, cell.read, Driven(label, emf, drift, look, probe, place=cell.row)
        )

    def _phase(self, desk: Desk, node: Node, read: Quantity, at: _Places) -> Row:
        assert self.frequency is not None
        u = read.u
        if read.spread is None:
            u = PHASE_U_DEG
            desk.find(
                "assumption",
                f"{self.name}: its phases state no ±; a standard uncertainty of 3 degrees is taken",
                readings=[self.name],
            )
        look, probe = at.look(node, self.frequency)
        shape: Shape = "rectangle" if read.rectangular else "normal"
        label = f"{self.name}: phase of {node} at {show_plain(self.frequency.value, 'Hz')}"
        model = Angle(look, probe, read.value)
        return Row(self.name, label, read.value, max(u, 1e-4) ** 2, shape, model, unit="deg")
