"""How an oscilloscope shows an amplitude, and what a source puts out: rows of volts.

Each error that readings share is a cause with an identity: gain shared by all
readings of an instrument, what a range adds, the peak-to-peak reading's excess by noise, the
frequency's error, the source's flatness. What no reading shares is the row's own variance.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from ohmbook.bench.desk import Desk
from ohmbook.bench.layout import Look
from ohmbook.bench.row import Row
from ohmbook.bench.screens import Amplitude as AmplitudeModel
from ohmbook.bench.screens import Shown
from ohmbook.bench.volts import Amplitude, amplitude, step_of
from ohmbook.circuit.network import Id
from ohmbook.documents.part import Oscilloscope
from ohmbook.documents.reading import ReadingBase
from ohmbook.evidence.unknown import Prior, Shape
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain

Drift = tuple[tuple[Id, float], ...]

EXACT = 1e-5
"""Share of a reading below which nothing is stated: what keeps an "exact" reading finite."""

EXCESS_STEPS = Prior(0.0, 0.5)
EXCESS_STEPS_UNSTATED = Prior(1.5, 1.5 / sqrt(3.0), "rectangle")
EXCESS_VOLTS_UNSTATED = Prior(1e-3, 2e-3)
"""How much too high noise makes a peak-to-peak reading: 0.3 code rms reads 1.5 codes high.

The volts are on a linear scale, because a quiet input adds nothing to the steps: a belief that
excludes 0 would bend the smallest readings."""


@dataclass(frozen=True, slots=True)
class OwnError:
    """A row's own error: standard uncertainty, distribution, and the read-out grid."""

    u: float
    shape: Shape
    grid: float = 0.0


@dataclass(frozen=True, slots=True)
class Screen:
    """One reading's instrument, ready to say how it shows a voltage."""

    name: str
    scope: Oscilloscope | None

    def read(self, written: Quantity, range_v: float | None = None) -> Amplitude:
        """A written voltage in volts peak to peak, with its range."""
        return amplitude(written, self.scope, range_v)


def screen(desk: Desk, reading: ReadingBase) -> Screen:
    """The screen that a reading was taken from; a reading without one is taken as exact."""
    name, found = desk.instrument(reading)
    return Screen(name, found if isinstance(found, Oscilloscope) else None)


def shown(
    desk: Desk, on: Screen, written: Quantity, read: Amplitude, reading: str
) -> tuple[Shown, OwnError]:
    """The causes between a voltage and this reading of it, and the reading's own error."""
    if written.spread is not None:
        shape: Shape = "rectangle" if written.rectangular else "normal"
        return Shown(), OwnError(max(written.u * read.factor, _least(read)), shape)
    scope = on.scope
    if scope is None:
        desk.find(
            "assumption",
            f"{reading}: nothing states how well its voltages were read; they are taken as exact",
            readings=[reading],
        )
        return Shown(), OwnError(_least(read), "normal")
    if scope.amplitude is not None:
        limit = (
            scope.amplitude.of(
                read.vpp / read.factor, written.last_digit, (read.range_v or 0.0) / read.factor
            )
            * read.factor
        )
        return Shown(), OwnError(max(limit / sqrt(3.0), _least(read)), "rectangle")
    return _by_cause(desk, on.name, scope, read)


def amplitude_row(desk: Desk, reading: ReadingBase, written: Quantity, what: Driven) -> Row:
    """The row of one amplitude: of a node, or of the open source."""
    on = screen(desk, reading)
    read = on.read(written, what.range_v)
    causes, own = shown(desk, on, written, read, reading.name)
    model = AmplitudeModel(what.emf, what.drift, causes, what.look, what.probe)
    return Row(
        reading.name,
        what.label,
        read.vpp * what.share,
        own.u**2,
        own.shape,
        model,
        own.grid,
        what.place,
    )


@dataclass(frozen=True, slots=True)
class Driven:
    """What an amplitude is the amplitude of. `share` multiplies the number written ("half of")."""

    label: str
    emf: Id
    drift: Drift
    look: Look | None = None
    probe: int = 0
    range_v: float | None = None
    share: float = 1.0
    place: int | None = None


def _by_cause(
    desk: Desk, name: str, scope: Oscilloscope, read: Amplitude
) -> tuple[Shown, OwnError]:
    gains = []
    if scope.shared_gain is not None:
        gains.append(desk.limits((name, "gain"), scope.shared_gain.relative))
    if scope.range_gain is not None and read.range_v is not None:
        label = f"gain at {show_plain(read.range_v, 'V')}/div"
        gains.append(desk.limits((name, label), scope.range_gain.relative))
    step = step_of(scope, read)
    ranged = scope.range_gain is not None or (scope.step is not None and scope.step.divisions)
    if read.guessed and ranged:
        desk.find(
            "assumption",
            f"{name}: readings without @ range are taken to be on the finest "
            "1-2-5 range whose screen holds them",
        )
    if not gains and not step:
        desk.find("assumption", f"{name}: neither gain nor step is stated; they contribute nothing")
    own = OwnError(max(step / sqrt(12.0), _least(read)), "rectangle" if step else "normal", step)
    return Shown(tuple(gains), _excess(desk, name, scope, step)), own


def _excess(
    desk: Desk, name: str, scope: Oscilloscope, step: float
) -> tuple[tuple[Id, float], ...]:
    """How much noise makes a peak-to-peak reading too high: so many steps, and so many volts."""
    if scope.reads not in (None, "peak to peak"):
        return ()
    steps, volts = (name, "noise excess in steps"), (name, "noise excess")
    found: list[tuple[Id, float]] = []
    if step:
        prior = EXCESS_STEPS_UNSTATED if scope.noise is None else EXCESS_STEPS
        found.append((desk.unknown(steps, "linear", prior), step))
    if scope.noise is None:
        found.append((desk.unknown(volts, "linear", EXCESS_VOLTS_UNSTATED), 1.0))
        desk.find(
            "assumption",
            f"{name}: its noise is not stated; peak-to-peak readings are taken to be up to 3 steps "
            "and 1 mV (give or take 2 mV) high. Read the screen with the generator "
            'off (kind "generator off") to know',
        )
    elif scope.noise.value > 0.0:
        vpp = amplitude(scope.noise, scope).vpp
        prior = Prior(vpp, max(0.3 * vpp, scope.noise.u))
        found.append((desk.unknown(volts, "linear", prior), 1.0))
    return tuple(found)


def _least(read: Amplitude) -> float:
    return max(EXACT * read.vpp, 1e-7)
