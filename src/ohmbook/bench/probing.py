"""Which readings could be taken next: on a board, and of a part alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import pi, sqrt
from typing import Any

import numpy as np

from ohmbook.bench.board import OnBoard
from ohmbook.bench.desk import Desk
from ohmbook.bench.grounds import ground_node
from ohmbook.bench.kind import Candidate, Reading, View
from ohmbook.bench.volts import peak_to_peak
from ohmbook.documents.reading import Sheet
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

FREQUENCIES_HZ = tuple(float(f"{f:.2g}") for f in np.geomspace(30.0, 20000.0, 18))


def board_candidates(kind: type[OnBoard], desk: Desk, view: View) -> Sequence[Candidate]:
    """Source at the input, drivers detached, each node at frequencies across the band."""
    sheet = desk.sheet
    source = usual_source(sheet)
    scope = usual_scope(sheet)
    if sheet.sketch is None or sheet.sketch.input is None or source is None or scope is None:
        return ()
    at: Any = sheet.sketch.input
    if isinstance(at, tuple) and at[1] != ground_node(sheet):
        return ()  # an earthed generator would short the board between its minus and the ground
    drivers = [name for name, part in sheet.parts.items() if part.kind == "driver" and part.between]
    ground = ground_node(sheet)
    nodes = dict.fromkeys(
        node
        for name, part in sheet.parts.items()
        if name not in drivers
        for node in part.between or ()
        if node != ground
    )
    open_ = usual_open(sheet, view, source)
    found = []
    for f_hz in FREQUENCIES_HZ:
        for node in nodes:
            blank: dict[str, Any] = {
                "kind": "probe",
                "at": at if isinstance(at, str) else list(at),
                "source": source,
                "instrument": scope,
                "frequency": f"{f_hz:g} Hz",
                **({"detached": drivers} if drivers else {}),
            }
            reading = kind.model_validate(
                {
                    **blank,
                    "amplitudes": {node: f"{0.3 * open_:.3g} Vpp"},
                    "name": f"next: {node} at {f_hz:g} Hz",
                }
            )
            found.append(
                Candidate(
                    reading,
                    {**blank, "amplitudes": {node: ""}},
                    1.0,
                    f"clip {source} to the input"
                    f"{' with ' + ', '.join(drivers) + ' detached' if drivers else ''}"
                    f", probe {node} at {show_plain(f_hz, 'Hz')}",
                )
            )
    return found


def alone(kind: type[Reading], desk: Desk, view: View, name: str) -> Iterable[Candidate]:
    """A coil or capacitor alone across the source, where its reactance is near the source's R."""
    sheet = desk.sheet
    source, scope = usual_source(sheet), usual_scope(sheet)
    resistance = view.value((source or "", "resistance"))
    value = view.at(name, 1000.0)
    coil = view.kind(name) == "inductor"
    if not (source and resistance and value) or view.kind(name) not in ("inductor", "capacitor"):
        return
    open_ = usual_open(sheet, view, source)
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
        result = {"open": f"{open_:.4g} Vpp", "across": f"{open_ * share:.4g} Vpp"}
        reading = kind.model_validate(
            {**blank, **result, "instrument": scope, "name": f"next: {name} at {f_hz:g} Hz"}
        )
        words = f"{name} alone across {source}, read at {show_plain(f_hz, 'Hz')}, open and across"
        yield Candidate(reading, blank, 2.0, words)


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
    return stated[0] if stated else 2.0


def usual_source(sheet: Sheet) -> str | None:
    """The source that readings take where they name none."""
    return sheet.defaults.source or next(iter(sheet.sources), None)


def usual_scope(sheet: Sheet) -> str | None:
    """The oscilloscope that readings take where they name none."""
    scopes = [name for name, one in sheet.instruments.items() if one.kind == "oscilloscope"]
    default = sheet.defaults.instrument
    return default if default in scopes else next(iter(scopes), None)
