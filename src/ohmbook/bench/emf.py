"""What a source puts out behind a reading: its EMF, its flatness, and the frequency's error."""

from __future__ import annotations

from math import floor, log, log10, sqrt

from ohmbook.bench import priors
from ohmbook.bench.desk import Desk
from ohmbook.bench.screen import Drift, Driven, amplitude_row, screen
from ohmbook.circuit.network import Id
from ohmbook.documents.part import Source
from ohmbook.documents.reading import ReadingBase
from ohmbook.errors import SettleError
from ohmbook.evidence.unknown import Prior, Shape
from ohmbook.units.quantity import Quantity
from ohmbook.units.show import show_plain


def open_amplitude(
    desk: Desk, reading: ReadingBase, f_hz: float | None, stated: Quantity | str | None
) -> tuple[Id, Drift]:
    """The EMF behind a reading and how far it may have moved; enters the row of its reading.

    Args:
        desk: the books.
        reading: the reading that needs an EMF.
        f_hz: its frequency, or None where it states none.
        stated: its own open amplitude, "@name" for another reading's, or None for the source's.
    """
    name, source = desk.source(reading)
    owner, written = _whose(desk, reading, name, source, stated)
    one = (owner, "open")
    shared = owner != reading.name or any(
        getattr(other, "open", None) == f"@{owner}" for other in desk.sheet.readings
    )
    drift = flatness(desk, name, source, f_hz) if shared and f_hz is not None else ()
    if one in desk.unknowns:
        return one, drift
    if written is None:
        desk.unknown(one, "log", Prior(log(2.0), priors.OPEN_AMPLITUDE_FACTOR), nuisance=False)
        desk.find(
            "limit",
            f"{name}: no open amplitude is stated, so amplitudes count only by their ratios",
        )
        return one, drift
    vpp = screen(desk, reading).read(written).vpp
    prior = Prior(log(max(vpp, 1e-6)), priors.OPEN_AMPLITUDE_FACTOR)
    desk.unknown(one, "log", prior, nuisance=False)
    at_own = drift if owner == reading.name else ()
    desk.rows.append(amplitude_row(desk, reading, written, Driven(f"{owner}: open", one, at_own)))
    return one, drift


def flatness(desk: Desk, name: str, source: Source, f_hz: float) -> Drift:
    """How far a source's amplitude may move with frequency: two causes that share the limits.

    One is this frequency's own; the other goes slowly, from decade to decade (straight between
    them on the log axis), since nothing says which of the two a generator does.
    """
    if source.flatness is None or source.flatness.relative == 0.0:
        return ()
    limit = source.flatness.relative / sqrt(2.0)
    own = desk.limits((name, f"flatness at {show_plain(f_hz, 'Hz')}"), limit)
    decades = log10(f_hz)
    low = floor(decades)
    near = desk.limits((name, f"flatness around {show_plain(10.0**low, 'Hz')}"), limit)
    far = desk.limits((name, f"flatness around {show_plain(10.0 ** (low + 1), 'Hz')}"), limit)
    return ((own, 1.0), (near, low + 1 - decades), (far, decades - low))


def frequency(desk: Desk, reading: ReadingBase, written: Quantity) -> tuple[Id, ...]:
    """The causes that shift a stated frequency."""
    if written.spread is not None:
        if max(written.half_width, 2.0 * written.u) >= written.value:
            raise SettleError(
                f'frequency "{written.text}" could be nothing at all; expected a spread below the '
                "frequency itself"
            )
        one = (reading.name, "frequency")
        u = written.u / written.value
        shape: Shape = "rectangle" if written.rectangular else "normal"
        return (desk.unknown(one, "linear", Prior(0.0, u, shape)),) if u else ()
    on = screen(desk, reading)
    if on.scope is None or on.scope.frequency is None:
        return ()
    return (desk.limits((on.name, "frequency"), on.scope.frequency.relative),)


def _whose(
    desk: Desk, reading: ReadingBase, name: str, source: Source, stated: Quantity | str | None
) -> tuple[str, Quantity | None]:
    if isinstance(stated, Quantity):
        return reading.name, stated
    reference = stated if isinstance(stated, str) else None
    if reference is None and isinstance(source.open, str):
        reference = source.open
    if reference is None:
        return name, source.open if isinstance(source.open, Quantity) else None
    owner = reference.removeprefix("@")
    other = next(one for one in desk.sheet.readings if one.name == owner)
    written = getattr(other, "open", None)
    return owner, written if isinstance(written, Quantity) else None
