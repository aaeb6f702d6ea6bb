"""The source was loaded while "open" was read: what it would have shown with nothing connected.

The open amplitude that a reading states is then what was left across the reading's own circuit,
|Z / (Z + R)| of it, with Z and the source's R as the rest of the readings have them.
"""

from __future__ import annotations

import numpy as np

from ohmbook.bench.desk import Desk
from ohmbook.bench.kind import Reading
from ohmbook.circuit import respond
from ohmbook.counsel.digits import times
from ohmbook.counsel.mistakes import LOADED_ODDS, Cause, Mistake
from ohmbook.counsel.sites import Parts, Site
from ohmbook.counsel.spots import Scene
from ohmbook.errors import OhmbookError
from ohmbook.units.quantity import Quantity

LOADED = Mistake(
    "read loaded",
    "the source had its load on while this was read",
    LOADED_ODDS,
    "common practice, no source",
    lambda site: iter(()),  # noqa: ARG005
)
_LEAST = 0.02
_USUAL_HZ = 1000.0


def loaded_options(scene: Scene, site: Site) -> dict[str, tuple[Cause, ...]]:
    """What the open amplitude would have been; nothing for any other site."""
    if site.field != "open" or site.what != "quantity" or site.owner[0] != "readings":
        return {}
    parts, share = Parts.of(site.text), _share(scene)
    if parts is None or share is None:
        return {}
    return {parts.text(number=times(parts.number, 1.0 / share)): (Cause(LOADED, 1.0),)}


def _share(scene: Scene) -> float | None:
    """What the reading's own circuit leaves of the open amplitude; None where it cannot be told."""
    reading = scene.sheet.readings[scene.spot.number]
    f_hz = getattr(reading, "frequency", None)
    if not isinstance(reading, Reading) or getattr(reading, "table", None) is not None:
        return None
    try:
        desk = Desk(scene.sheet, scene.answer.compiled.beliefs)
        network = reading.set_ups(desk)[0].network
        known = {**scene.rest.compiled.constants, **scene.rest.values}
        at = {
            one: known[other] for one in network.ids if (other := desk.same.get(one, one)) in known
        }
        hertz = f_hz.value if isinstance(f_hz, Quantity) else _USUAL_HZ
        z = complex(np.ravel(respond(network, at, [hertz]).input_impedance)[0])
    except OhmbookError:
        return None
    resistance = known.get((reading.source or "", "resistance"))
    if resistance is None or not np.isfinite(z):
        return None
    share = abs(z / (z + resistance))
    return share if _LEAST < share < 1.0 - _LEAST else None
