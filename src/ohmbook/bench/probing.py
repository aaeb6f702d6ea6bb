"""Which readings could be taken next: on a board, and of a part alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import pi, sqrt

from ohmbook.bench.board import OnBoard
from ohmbook.bench.connecting import Hookup, board_nodes, hookups
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Candidate, Connection, Reading, Tunable, View
from ohmbook.bench.likes import filled
from ohmbook.bench.volts import peak_to_peak
from ohmbook.circuit.network import Node
from ohmbook.documents.part import Source
from ohmbook.documents.reading import Sheet
from ohmbook.documents.table import Column, Row, Table
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

SPAN_HZ = (20.0, 25000.0)
"""The useful range: where a crossover works, its parts are what they are, and any generator
reaches."""


def board_tunables(kind: type[OnBoard], desk: Desk, view: View) -> Iterable[Tunable]:
    """Every connection of the board; on each every node, at any frequency."""
    sheet = desk.sheet
    source, scope = usual_source(sheet), usual_scope(sheet)
    if sheet.sketch is None or source is None or scope is None:
        return
    open_ = usual_open(sheet, view, source)
    for number, hookup in enumerate(hookups(desk, source, scope), 1):
        yield _tunable(kind, board_nodes(sheet), hookup, (source, scope, open_, number))


def _tunable(
    kind: type[OnBoard],
    nodes: tuple[Node, ...],
    hookup: Hookup,
    tools: tuple[str, str, float, int],
) -> Tunable:
    source, scope, open_, number = tools
    at = hookup.at if isinstance(hookup.at, str) else list(hookup.at)
    said = {"kind": "probe", "at": at, "source": source, "instrument": scope, **hookup.changes}
    guess = f"{0.3 * open_:.3g}"

    def every(f_hz: Sequence[float], places: Sequence[str]) -> Reading:
        columns = (Column("frequency", "Hz"), *(Column(one, "Vpp") for one in places))
        rows = [Row(k, (f"{f:.6g}", *[guess] * len(places))) for k, f in enumerate(f_hz)]
        table = Table(columns, tuple(rows))
        return kind.model_validate({**said, "table": table, "name": f"next: set-up {number}"})

    def one(place: str, f_hz: float) -> Candidate:
        blank = {**said, "frequency": hertz_words(f_hz)}
        name = f"next: {place} at {hertz_words(f_hz)}, set-up {number}"
        return Candidate(
            kind.model_validate({**blank, "amplitudes": {place: f"{guess} Vpp"}, "name": name}),
            {**blank, "amplitudes": {place: ""}},
            1.0,
            f"clip {source} to {hookup.words}, probe {place} at {hertz_words(f_hz)}",
            connection=hookup.connection,
        )

    return Tunable(hookup.connection, nodes, SPAN_HZ, every, one)


def hertz_words(f_hz: float) -> str:
    """A frequency as it is dialled: "350 Hz", "1.2 kHz"."""
    return f"{f_hz:g} Hz" if f_hz < 1000.0 else f"{f_hz / 1000.0:g} kHz"


def alone(kind: type[Reading], desk: Desk, view: View, name: str) -> Iterable[Candidate]:
    """A coil or capacitor alone across the source, where its reactance is near the source's R."""
    sheet = desk.sheet
    source, scope = usual_source(sheet), usual_scope(sheet)
    resistance = usual_resistance(sheet, view, source) if source else 0.0
    value = view.at(name, 1000.0)
    coil = view.kind(name) == "inductor"
    if not (source and resistance and value) or view.kind(name) not in ("inductor", "capacitor"):
        return
    open_ = usual_open(sheet, view, source)
    stated = sheet.sources[source].open is not None
    for reactance in (0.3 * resistance, resistance / sqrt(3.0), resistance):
        f_hz = reactance / (2 * pi * value) if coil else 1.0 / (2 * pi * reactance * value)
        f_hz = float(f"{f_hz:.2g}")
        if not 20.0 <= f_hz <= 1e6:
            continue
        blank = {
            "kind": "amplitude ratio",
            "part": name,
            "source": source,
            "frequency": f"{f_hz:g} Hz",
        }
        share = reactance / sqrt(resistance**2 + reactance**2)
        result = {"across": f"{open_ * share:.4g} Vpp"}
        if not stated:
            result["open"] = f"{open_:.4g} Vpp"
        reading = kind.model_validate(
            {**blank, **result, "instrument": scope, "name": f"next: {name} at {f_hz:g} Hz"}
        )
        what = "across it" if stated else "open and across"
        words = f"{name} alone across {source}, read at {show_plain(f_hz, 'Hz')}, {what}"
        numbers, asked = len(result), {**blank, **dict.fromkeys(sorted(result, reverse=True), "")}
        yield Candidate(
            reading, asked, 1.0, words, numbers, numbers, Connection(f"{name} alone", 1.0)
        )


def usual_open(sheet: Sheet, view: View, source: str) -> float:
    """What a source may be expected to put out, volts peak to peak: as it did before, or 2."""
    settled = view.value((source, "open"))
    if settled is not None:
        return settled
    stated = [
        peak_to_peak(written)
        for reading in sheet.readings
        if reading.source == source
        for key in ("open", "half_of")
        if isinstance(written := getattr(reading, key, None), Quantity)
    ]
    own = sheet.sources[source].open
    if isinstance(own, Quantity):
        return peak_to_peak(own)
    return stated[0] if stated else 2.0


def usual_resistance(sheet: Sheet, view: View, source: str) -> float:
    """A source's output resistance: as settled, as stated, or 50 ohm."""
    settled = view.value((source, "resistance"))
    stated = filled(sheet.sources[source])[0]
    assert isinstance(stated, Source)
    written = stated.resistance.value if stated.resistance is not None else 50.0
    return settled or written or 50.0


def usual_source(sheet: Sheet) -> str | None:
    """The source that readings take where they name none."""
    return sheet.defaults.source or next(iter(sheet.sources), None)


def usual_scope(sheet: Sheet) -> str | None:
    """The oscilloscope that readings take where they name none."""
    scopes = [name for name, one in sheet.instruments.items() if one.kind == "oscilloscope"]
    default = sheet.defaults.instrument
    return default if default in scopes else next(iter(scopes), None)
