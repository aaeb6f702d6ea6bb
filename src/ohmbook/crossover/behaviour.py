"""What a crossover does: each output's gain and phase, the input impedance, with their bands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmbook import circuit
from ohmbook.circuit.network import Id, Network
from ohmbook.crossover import features
from ohmbook.crossover.curves import Floats
from ohmbook.crossover.digits import lost_digits
from ohmbook.documents.estimate import Spread
from ohmbook.documents.finding import Finding
from ohmbook.errors import CallError, CircuitError

DEFAULT_LOW_HZ, DEFAULT_HIGH_HZ, DEFAULT_COUNT = 20.0, 20000.0, 400


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """A 95 % band: arrays of shape (m,), NaN where there is none."""

    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True, eq=False)
class OutputCurve:
    """One output over frequency.

    Args:
        name: the output's name.
        gain_db: 20 log10 of |V_out/EMF|, shape (m,); -inf in a null.
        phase_deg: of V_out against the EMF, in (-180, 180], shape (m,); NaN in a null.
        band: of the gain in decibels, or None where there were no draws.
    """

    name: str
    gain_db: Floats
    phase_deg: Floats
    band: Band | None = None


@dataclass(frozen=True, slots=True, eq=False)
class ImpedanceCurve:
    """The input impedance over frequency, as the amplifier's terminals see it.

    Args:
        magnitude_ohm: shape (m,).
        phase_deg: in (-180, 180], shape (m,).
        band: of the magnitude in ohms, or None where there were no draws.
    """

    magnitude_ohm: Floats
    phase_deg: Floats
    band: Band | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Behaviour:
    """What a crossover does.

    Args:
        frequency_hz: shape (m,), increasing.
        outputs: one curve for each output, in order.
        input_impedance: as the amplifier sees it.
        crossings: where the gains of two outputs cross.
        minimum_impedance: the lowest |Zin| and where.
        traits: level, corners and slopes by output.
        draws: how many draws the bands rest on.
        findings: where an answer has lost too many digits to be relied on.
        spread: where each feature's spread comes from, where that was worked out.
    """

    frequency_hz: Floats
    outputs: tuple[OutputCurve, ...]
    input_impedance: ImpedanceCurve
    crossings: tuple[features.Crossing, ...]
    minimum_impedance: features.Minimum
    traits: Mapping[str, features.Traits]
    draws: int
    findings: tuple[Finding, ...] = ()
    spread: tuple[Spread, ...] = ()

    def document(self) -> dict[str, Any]:
        """The behaviour as JSON (a contract: add to it, rename nothing); no NaN or Infinity."""
        return {
            "outputs": {one.name: self._output_document(one) for one in self.outputs},
            "input_impedance": self._impedance_document(),
            "summary": self._summary_document(),
            "findings": [one.document() for one in self.findings],
        }

    def _output_document(self, curve: OutputCurve) -> dict[str, Any]:
        return {
            "frequency_hz": _numbers(self.frequency_hz),
            "gain_db": _numbers(curve.gain_db),
            "gain_db_low": _numbers(curve.band.low) if curve.band else None,
            "gain_db_high": _numbers(curve.band.high) if curve.band else None,
            "phase_deg": _numbers(curve.phase_deg),
        }

    def _impedance_document(self) -> dict[str, Any]:
        curve = self.input_impedance
        return {
            "frequency_hz": _numbers(self.frequency_hz),
            "magnitude_ohm": _numbers(curve.magnitude_ohm),
            "magnitude_ohm_low": _numbers(curve.band.low) if curve.band else None,
            "magnitude_ohm_high": _numbers(curve.band.high) if curve.band else None,
            "phase_deg": _numbers(curve.phase_deg),
        }

    def _summary_document(self) -> dict[str, Any]:
        corners = {name: one.corners for name, one in self.traits.items()}
        slopes = {name: one.slopes for name, one in self.traits.items()}
        return {
            "crossings": [one.document() for one in self.crossings],
            "minimum_impedance": self.minimum_impedance.document(),
            "levels": {
                name: one.level_db.document() if one.level_db else None
                for name, one in self.traits.items()
            },
            "corner_frequencies": {
                name: [corner.document() for corner in some] for name, some in corners.items()
            },
            "slopes": {name: [slope.document() for slope in some] for name, some in slopes.items()},
            "draws": self.draws,
            "spread": [one.document() for one in self.spread],
        }


def default_grid() -> Floats:
    """400 points from 20 Hz to 20 kHz, evenly spaced in log frequency, both ends exact."""
    return grid(DEFAULT_LOW_HZ, DEFAULT_HIGH_HZ, DEFAULT_COUNT)


MOST_POINTS = 10_000
"""A grid finer than this shows nothing more, and 1000 draws of it would not fit in memory."""


def grid(low_hz: float, high_hz: float, count: int) -> Floats:
    """Frequencies evenly spaced in log frequency, both ends exact.

    Args:
        low_hz: the first, above 0.
        high_hz: the last, above the first.
        count: how many, 2 to `MOST_POINTS`.

    Raises:
        CallError: the range can't be.
    """
    if not (0.0 < low_hz < high_hz < np.inf and 2 <= count <= MOST_POINTS):
        raise CallError(
            f"Frequencies from {low_hz:g} Hz to {high_hz:g} Hz in {count} points cannot be: "
            "expected a lowest above 0 Hz, a highest above it, and at least 2 points (at most "
            f"{MOST_POINTS})."
        )
    points = np.geomspace(low_hz, high_hz, count)
    points[0], points[-1] = low_hz, high_hz
    return points


def behave(
    network: Network,
    output_names: Sequence[str],
    values: Mapping[Id, float],
    draws: Mapping[Id, float | Floats] | None = None,
    f_hz: Floats | None = None,
) -> Behaviour:
    """Push values, and joint draws of them, through a crossover.

    Args:
        network: driven at its input; its probes are the outputs.
        output_names: one name for each probe.
        values: the best value of each (owner, quantity), SI.
        draws: the same, each an array of shape (draws,) or one number for all; None for no
            band. Draws that belong together share an index.
        f_hz: shape (m,), hertz, increasing; the default is `default_grid()`.

    Returns:
        The behaviour; bands are pointwise 2.5 % and 97.5 % quantiles over the draws.

    Raises:
        CallError: names and probes don't match, or the frequencies are not increasing.
        CircuitError: a circuit that cannot be worked out.
    """
    if len(output_names) != len(network.probes):
        raise CallError(f"{len(output_names)} names were given for {len(network.probes)} outputs.")
    f_hz = _checked(default_grid() if f_hz is None else np.asarray(f_hz, dtype=np.float64))
    best = circuit.respond(network, values, f_hz)
    rows, impedances = best.transfer, best.input_impedance
    count = 0
    if draws is not None:
        drawn = circuit.respond(network, draws, f_hz)
        count = drawn.input_impedance.shape[0]
        rows = np.concatenate([rows, drawn.transfer], axis=1)
        impedances = np.concatenate([impedances, drawn.input_impedance], axis=0)
    gains = {name: _gain_db(name, rows[k]) for k, name in enumerate(output_names)}
    outputs = tuple(_output(name, gains[name], rows[k, 0]) for k, name in enumerate(output_names))
    told = lost_digits(network, output_names, values, f_hz)
    return replace(_assembled(f_hz, outputs, gains, impedances, count), findings=told)


def _assembled(
    f_hz: Floats,
    outputs: tuple[OutputCurve, ...],
    gains: dict[str, Floats],
    impedances: NDArray[np.complex128],
    count: int,
) -> Behaviour:
    x = np.log(f_hz)
    magnitude_ohm = np.abs(impedances)
    _check_numbers("The input impedance", magnitude_ohm)
    return Behaviour(
        _kept(f_hz),
        outputs,
        ImpedanceCurve(
            _kept(magnitude_ohm[0]), _phase_deg(impedances[0]), _band(magnitude_ohm[1:])
        ),
        features.crossings(x, gains),
        features.minimum_impedance(x, magnitude_ohm),
        {name: features.traits(x, gain) for name, gain in gains.items()},
        count,
    )


def _checked(f_hz: Floats) -> Floats:
    if f_hz.ndim != 1 or not f_hz.size or not np.all(np.isfinite(f_hz)) or f_hz[0] <= 0.0:
        raise CallError("The frequencies must be a list of numbers above 0 Hz.")
    if np.any(np.diff(f_hz) <= 0.0):
        raise CallError("The frequencies must go upwards, each once.")
    return f_hz


def _gain_db(name: str, transfer: NDArray[np.complex128]) -> Floats:
    amplitude = np.abs(transfer)
    _check_numbers(f'The output "{name}"', amplitude)
    with np.errstate(divide="ignore"):
        return 20.0 * np.log10(amplitude)


def _check_numbers(what: str, amplitude: Floats) -> None:
    if np.any(np.isnan(amplitude)):
        raise CircuitError(f"{what} has no number at some frequency: the circuit has no answer.")


def _output(name: str, gain_db: Floats, transfer: NDArray[np.complex128]) -> OutputCurve:
    return OutputCurve(name, _kept(gain_db[0]), _phase_deg(transfer), _band(gain_db[1:]))


def _phase_deg(values: NDArray[np.complex128]) -> Floats:
    phase = np.degrees(np.angle(values))
    # atan2 gives -180 on the lower lip of its cut; the range is (-180, 180].
    phase = np.where(phase <= -180.0, 180.0, phase)
    return _kept(np.where(values == 0.0, np.nan, phase))


def _band(drawn: Floats) -> Band | None:
    if not drawn.shape[0]:
        return None
    # Between a null and a number the quantile has no value: NaN here, null in the document.
    with np.errstate(invalid="ignore"):
        low, high = np.quantile(drawn, (features.LOW, features.HIGH), axis=0)
    return Band(_kept(low), _kept(high))


def _kept(array: Floats) -> Floats:
    """A copy that can't be written to: what has been worked out stays as it is."""
    copy = np.array(array, dtype=np.float64)
    copy.flags.writeable = False
    return copy


def _numbers(array: Floats) -> list[float | None]:
    return [float(one) if np.isfinite(one) else None for one in array]
