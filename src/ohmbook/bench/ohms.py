"""How an ohmmeter shows a resistance: shared gain, digits, and its leads."""

from __future__ import annotations

from math import sqrt

from ohmbook.bench.desk import Desk
from ohmbook.bench.layout import ZERO
from ohmbook.bench.meters import Sum
from ohmbook.bench.row import Row
from ohmbook.bench.screen import EXACT, OwnError
from ohmbook.circuit.network import Id
from ohmbook.documents.part import Multimeter
from ohmbook.documents.reading import ReadingBase
from ohmbook.evidence.unknown import Prior, Shape
from ohmbook.units.quantity import Accuracy, Quantity

USUAL_LEADS = Prior(0.3, 0.2 / sqrt(3.0), "rectangle")
"""Test leads of a two-wire meter, ohm: 0.1 to 0.5; 0.2 to 0.5 is typical by a meter
maker's introduction to accuracy, the rest is common practice, no source."""

LEADS_UNKNOWN_U_OHM = 2.0
LEAST_OHM = 1e-5


def meter_of(desk: Desk, reading: ReadingBase) -> tuple[str, Multimeter | None]:
    """The meter of a reading; None where it names none."""
    name, found = desk.instrument(reading)
    return name, found if isinstance(found, Multimeter) else None


def as_shown(
    desk: Desk, reading: ReadingBase, written: Quantity, quantity: str, accuracy: Accuracy | None
) -> tuple[tuple[Id, ...], OwnError]:
    """The gains all readings of this quantity share, and this reading's own error.

    A quantity's own ± replaces what the instrument would give. The relative part of a meter's
    accuracy is one gain that its readings share; digits and absolute parts are each reading's.
    """
    if written.spread is not None:
        shape: Shape = "rectangle" if written.rectangular else "normal"
        return (), OwnError(max(written.u, _least(written)), shape)
    if accuracy is None:
        desk.find(
            "assumption",
            f"{reading.name}: nothing states how well its {quantity} was "
            "read; it is taken as exact",
            readings=[reading.name],
        )
        return (), OwnError(_least(written), "normal")
    name = reading.instrument or "meter"
    gains = (
        (desk.limits((name, f"{quantity} gain"), accuracy.relative),) if (accuracy.relative) else ()
    )
    own = accuracy.digits * written.last_digit + accuracy.absolute
    return gains, OwnError(max(own / sqrt(3.0), _least(written)), "rectangle" if own else "normal")


def leads_of(desk: Desk, reading: ReadingBase, leads: Quantity | str | None, wires: int) -> Id:
    """The resistance of a meter's leads, as an unknown that is read with the leads shorted."""
    if wires == 4:
        return ZERO
    if isinstance(leads, str):
        return (leads.removeprefix("@"), "leads")
    one = (reading.name, "leads")
    name, meter = meter_of(desk, reading)
    if leads is None:
        desk.find(
            "assumption",
            f"{name or 'meter'}: its leads were not read shorted; they are "
            'taken as 0.1 to 0.5 ohm. Short the clips and write leads = "..." to know',
            readings=[reading.name],
        )
        return desk.unknown((name or "meter", "leads"), "linear", USUAL_LEADS)
    desk.unknown(one, "linear", Prior(leads.value, LEADS_UNKNOWN_U_OHM), nuisance=False)
    gains, own = as_shown(
        desk, reading, leads, "resistance", None if meter is None else meter.resistance
    )
    desk.rows.append(
        Row(
            reading.name,
            f"{reading.name}: leads shorted",
            leads.value,
            own.u**2,
            own.shape,
            Sum(((one, 1.0),), gains),
            unit="ohm",
        )
    )
    return one


def _least(written: Quantity) -> float:
    tiny = LEAST_OHM if written.unit == "ohm" else 1e-12
    return max(EXACT * abs(written.value), tiny if written.value == 0.0 else 0.0)
