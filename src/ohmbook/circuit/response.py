"""What a network does: the voltage at each probe and the input impedance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ohmbook.circuit.element import omega_of
from ohmbook.circuit.given import by_point
from ohmbook.circuit.many import in_parts, run_many
from ohmbook.circuit.mend import mend
from ohmbook.circuit.network import Network, Values
from ohmbook.circuit.points import first_look
from ohmbook.circuit.road import Mask, blank, broken
from ohmbook.circuit.run import Complexes, leaves_at
from ohmbook.circuit.topology import Compiled, compiled
from ohmbook.circuit.values import Inventory, Reals, inventory, tabulate
from ohmbook.errors import CallError, ContradictionError

_LOOKED_AT = 3200
"""Points that are looked at together."""


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """A network's answer.

    Args:
        transfer: V(probe) over the EMF, complex, shape (probes, draws, m).
        input_impedance: seen from the source's terminals into the network, its own resistance not
            included; ohm, complex, shape (draws, m). `inf+0j` where it is infinite; never NaN.
    """

    transfer: Complexes
    input_impedance: Complexes

    @property
    def open_circuit(self) -> NDArray[np.bool_]:
        """Where the input impedance is infinite, shape (draws, m)."""
        return np.isinf(self.input_impedance.real)

    @property
    def input_admittance(self) -> Complexes:
        """1 / input impedance, siemens, shape (draws, m): 0 where that is infinite, and `inf+0j`
        where it is zero."""
        infinite = self.open_circuit
        zero = self.input_impedance == 0.0
        inverse = 1.0 / np.where(infinite | zero, 1.0, self.input_impedance)
        return np.where(infinite, 0.0, np.where(zero, np.inf, inverse))


def respond(network: Network, values: Values, f_hz: ArrayLike, threads: int = 1) -> Response:
    """Solve a network for its probes and its input impedance.

    Args:
        network: driven by an EMF of 1 behind the resistance of its drive's owner.
        values: (owner, quantity) to a float or an array of shape (draws,), SI. A quantity that is
            not the main one of its part may be absent: it is then 0. What belongs to other
            networks is not looked at.
        f_hz: hertz, 0 or above, shape (m,), or (draws, m) where it differs by draw.
        threads: how many threads share the draws.

    Returns:
        The response, of one draw where nothing is given by draw.

    Raises:
        CircuitError: a value is missing or cannot be.
        FloatingError: a probe, or a terminal of the source, has no path to the source.
        ContradictionError: an ideal source across a short, or an unlimited resonance.
        CallError: frequencies or shapes that cannot be.
    """
    needs = inventory(network)
    if needs.given:
        points = by_point(network, values, frequencies(f_hz))
        found = respond(points.network, points.values, points.f_hz[:, None], threads)
        transfer = found.transfer.reshape(-1, *points.shape)
        return Response(transfer, found.input_impedance.reshape(points.shape))
    table, grid = _matched(tabulate(needs, values), frequencies(f_hz))
    still = grid == 0.0
    if not still.any():
        solved = _solve(ready_for(needs, table, at_dc=False), table, grid, threads)
    else:
        solved = _solve(ready_for(needs, table, at_dc=True), table, np.zeros((1, 1)), threads)
        if not still.all():
            moving = np.where(still, 1.0, grid)
            beside = _solve(ready_for(needs, table, at_dc=False), table, moving, threads)
            solved = np.where(still, solved, beside)
        else:
            solved = np.broadcast_to(solved, (*solved.shape[:2], grid.shape[1])).copy()
    return Response(solved[:-1], solved[-1])


def frequencies(f_hz: ArrayLike) -> Reals:
    """Frequencies as an array of one or two dimensions.

    Raises:
        CallError: not numbers, negative, or of another shape.
    """
    try:
        found = np.atleast_1d(np.asarray(f_hz, dtype=np.float64))
    except (TypeError, ValueError):
        raise CallError("Frequencies must be numbers, in hertz.") from None
    if found.ndim > 2:
        raise CallError(f"Frequencies have the shape {found.shape}: expected (m,) or (draws, m).")
    good = (found >= 0.0) & (found < np.inf)
    if not good.all():
        raise CallError(f"A frequency is {found[~good][0]:g} Hz: expected 0 or more.")
    return found


def ready_for(needs: Inventory, table: Reals, at_dc: bool) -> Compiled:
    """The network made ready for the values at hand.

    Raises:
        FloatingError: a probe, or a terminal of the source, has no path to the source.
        ContradictionError: a source without resistance across a short.
    """
    zero = ~table[: needs.zeros].any(axis=1)
    ready = compiled(needs, zero.tobytes(), at_dc)
    if not ready.topology.source and not table[ready.bank.resistance[-1]].all():
        raise ContradictionError(
            f'The resistance of "{needs.network.drive.owner}" is 0 in some draws, and a short '
            "joins its terminals."
        )
    return ready


def _matched(table: Reals, f_hz: Reals) -> tuple[Reals, Reals]:
    """Table (rows, draws) and frequencies (1 or draws, m)."""
    if f_hz.ndim == 1:
        return table, f_hz[None, :]
    draws = f_hz.shape[0]
    if table.shape[1] == 1:
        return np.broadcast_to(table, (table.shape[0], draws)), f_hz
    if draws not in (1, table.shape[1]):
        raise CallError(
            f"Frequencies are given for {draws} draws, values for {table.shape[1]}: "
            "expected as many."
        )
    return table, f_hz


def _solve(ready: Compiled, table: Reals, f_hz: Reals, threads: int) -> Complexes:
    """Every output over draws and frequencies, shape (outputs, draws, m)."""
    topology = ready.topology
    draws, count = table.shape[1], f_hz.shape[1]
    if not topology.source or not count:
        return blank(ready, (draws, count))
    if draws == 1:
        leaves, _ = leaves_at(ready, table, omega_of(f_hz[0]))
        first, doubt = first_look(ready, leaves)
        values, sound = first[:, None], not doubt.any()
    elif f_hz.shape[0] > 1:
        values, doubt = _each_point(ready, table, f_hz, threads)
        sound = not doubt.any()
    else:
        doubt = doubtful_points(ready, table, f_hz[0])
        values, sound = run_many(ready, table, omega_of(f_hz), threads)
    if not sound or doubt.any():
        mend_where(ready, table, f_hz, values, doubt)
    check_shorts(ready, table, values[-1])
    return values


def doubtful_points(ready: Compiled, table: Reals, f_hz: Reals) -> Mask:
    """At which points sums cancel, shape (1, m) or (draws, m).

    The first draw stands for all frequencies and one frequency for all draws, unless a coil has
    next to no losses: then a resonance can meet a frequency in any draw, and every point is looked
    at. Points that are not finite are found anyway.

    Args:
        ready: the network, its source not shorted.
        table: values by row, shape (rows, draws).
        f_hz: hertz, above 0 unless the network is that of 0 Hz, shape (m,).
    """
    draws = table.shape[1]
    if draws > 1 and _sharp(ready, table, omega_of(f_hz)):
        return _each_point(ready, table, np.broadcast_to(f_hz, (draws, f_hz.size)))[1]
    leaves, _ = leaves_at(ready, table[:, :1], omega_of(f_hz))
    across = first_look(ready, leaves)[1]
    good = np.flatnonzero(~across)
    if draws == 1 or not good.size:
        return across[None]
    # What cancels at every frequency in one draw only, such as coils of which only one draw makes
    # a coupling of 1, is seen at any of them.
    grid = np.full((draws, 1), f_hz[good[good.size // 2]])
    return np.asarray(across | _each_point(ready, table, grid)[1])


_LOSSLESS = 1e-4
"""A coil whose resistance and loss together are a smaller share of its reactance could, in a
resonance, cancel more digits than are to be lost unseen."""


def _sharp(ready: Compiled, table: Reals, omega: Reals) -> bool:
    bank = ready.bank
    coils = bank.coil.size
    with np.errstate(all="ignore"):
        angle = table[bank.coil] / (table[bank.main[:coils]] * omega.max(initial=0.0))
    return bool((angle + np.abs(table[bank.loss[:coils]]) < _LOSSLESS).any())


def _each_point(
    ready: Compiled, table: Reals, f_hz: Reals, threads: int = 1
) -> tuple[Complexes, Mask]:
    """The first look at every point, for draws of which none can stand for another.

    Args:
        ready: the network, its source not shorted.
        table: values by row, shape (rows, draws).
        f_hz: hertz, shape (draws, m).
        threads: how many threads share the points.

    Returns:
        Shape (outputs, draws, m), and which are doubtful, shape (draws, m).
    """
    values, doubt = blank(ready, f_hz.shape), np.empty(f_hz.shape, np.bool_)

    def some(part: slice) -> None:
        for k in range(part.start, part.stop, _LOOKED_AT):
            at = np.arange(k, min(k + _LOOKED_AT, part.stop))
            rows, columns = np.divmod(at, f_hz.shape[1])
            leaves, _ = leaves_at(ready, table[:, rows], omega_of(f_hz[rows, columns]))
            values[:, rows, columns], doubt[rows, columns] = first_look(ready, leaves)

    in_parts(some, f_hz.size, threads)
    return values, doubt


def mend_where(ready: Compiled, table: Reals, f_hz: Reals, values: Complexes, doubt: Mask) -> None:
    """Solve again the points that are broken, and every draw at the doubtful frequencies.

    Args:
        ready: the network, its source not shorted.
        table: values by row, shape (rows, draws).
        f_hz: hertz, shape (1, m) or (draws, m).
        values: shape (outputs, draws, m); what was solved again is put into it.
        doubt: shape (1, m) or (draws, m).

    Raises:
        ContradictionError: a point without a finite answer.
    """
    draw, column = np.nonzero(broken(values) | doubt)
    for k in range(0, draw.size, 4096):
        rows, columns = draw[k : k + 4096], column[k : k + 4096]
        here = f_hz[rows if f_hz.shape[0] > 1 else 0, columns]
        leaves, _ = leaves_at(ready, table[:, rows], omega_of(here))
        values[:, rows, columns] = mend(ready, leaves, here).values


def check_shorts(ready: Compiled, table: Reals, impedance: Complexes) -> None:
    """Resistors that are zero in some draws only are no structural short, but may make one.

    Args:
        ready: the network.
        table: values by row, shape (rows, draws).
        impedance: the input impedance, shape (draws, m).

    Raises:
        ContradictionError: an ideal source across a short in one of the draws.
    """
    if ready.topology.behind < 0 and not table[ready.bank.resistance].all():
        draws = (impedance == 0.0).any(axis=1) & ~table[ready.bank.resistance].all(axis=0)
        if draws.any():
            raise ContradictionError(
                f"An ideal source stands across a short in draw {int(np.argmax(draws))}: give the "
                "source or the parts some resistance."
            )
