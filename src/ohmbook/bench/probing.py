"""Which probe readings could be taken next on a board."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ohmbook.bench.board import OnBoard, ground_node
from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Candidate, View
from ohmbook.units.show import show_plain

FREQUENCIES_HZ = tuple(float(f"{f:.2g}") for f in np.geomspace(30.0, 20000.0, 18))


def board_candidates(kind: type[OnBoard], desk: Desk, view: View) -> Sequence[Candidate]:
    """Source at the input, drivers detached, each node at frequencies across the band."""
    sheet = desk.sheet
    source = sheet.defaults.source or next(iter(sheet.sources), None)
    scope = sheet.defaults.instrument or next(
        (name for name, one in sheet.instruments.items() if one.kind == "oscilloscope"), None
    )
    if sheet.sketch is None or sheet.sketch.input is None or source is None or scope is None:
        return ()
    if getattr(sheet.instruments[scope], "kind", "") != "oscilloscope":
        return ()
    at: Any = sheet.sketch.input
    drivers = [name for name, part in sheet.parts.items() if part.kind == "driver" and part.between]
    ground = ground_node(sheet)
    nodes = dict.fromkeys(
        node
        for name, part in sheet.parts.items()
        if name not in drivers
        for node in part.between or ()
        if node != ground
    )
    open_ = view.value((source, "open")) or 2.0
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
