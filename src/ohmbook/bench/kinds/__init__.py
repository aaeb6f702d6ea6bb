"""The reading kinds, listed: one file each."""

from __future__ import annotations

from ohmbook.bench.kind import Reading
from ohmbook.bench.kinds.amplitude_ratio import AmplitudeRatio
from ohmbook.bench.kinds.clips import ClipsOpen, ClipsShorted
from ohmbook.bench.kinds.coupled_coils import CoupledCoils
from ohmbook.bench.kinds.current_ramp import CurrentRamp
from ohmbook.bench.kinds.driver_impedance import DriverImpedance
from ohmbook.bench.kinds.equal_voltages import EqualVoltages
from ohmbook.bench.kinds.esr_by_step import EsrByStep
from ohmbook.bench.kinds.generator_off import GeneratorOff
from ohmbook.bench.kinds.impedance import Impedance
from ohmbook.bench.kinds.meter import Meter
from ohmbook.bench.kinds.probe import Probe
from ohmbook.bench.kinds.resistance import Resistance
from ohmbook.bench.kinds.resonance import Resonance
from ohmbook.bench.kinds.ring_down import RingDown
from ohmbook.bench.kinds.source_loading import SourceLoading
from ohmbook.bench.kinds.sweep import Sweep
from ohmbook.bench.kinds.three_voltages import ThreeVoltages
from ohmbook.bench.kinds.time_constant import TimeConstant

KINDS: tuple[type[Reading], ...] = (
    SourceLoading,
    AmplitudeRatio,
    Resistance,
    Meter,
    Probe,
    GeneratorOff,
    Impedance,
    Resonance,
    RingDown,
    ThreeVoltages,
    EqualVoltages,
    TimeConstant,
    EsrByStep,
    CoupledCoils,
    ClipsShorted,
    ClipsOpen,
    CurrentRamp,
    DriverImpedance,
    Sweep,
)
"""Every kind of reading, in the order they are offered."""
