"""How moved curves differ from the settled ones, and what an amplifier sees, in plain words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import log

import numpy as np

from ohmbook.crossover.behaviour import Band, Behaviour, OutputCurve
from ohmbook.crossover.curves import Floats
from ohmbook.crossover.features import Bounded, Corner, Crossing, Slope
from ohmbook.report.behaviour import lowest_line
from ohmbook.units.show import show_plain

LEAST_DB = 0.05
"""A difference below this is told as none."""

HEARD_DB = 30.0
"""What lies further than this below the loudest output's highest level is not looked at."""

LEAST_RATIO = 0.005
"""The same for frequencies and ohms, relative."""

LEAST_SLOPE_DB = 1.0
"""The same for slopes, dB an octave."""

RATED_OHM = (16.0, 8.0, 4.0, 2.0)
RATED_SHARE = 0.8
"""The impedance of a loudspeaker falls nowhere below 80 % of the rated one (IEC 60268-5, rated
impedance; from memory)."""

_FLAT = 0.9
_MINOR = 0.25
_STEEP_DEG = 1.0
_SAME = 5e-4
_A_HALF = 0.5
_FINE_PERCENT = 9.95


def differences(settled: Behaviour, moved: Behaviour) -> tuple[str, ...]:
    """What has changed, the outputs' levels first.

    Args:
        settled: with its bands and intervals.
        moved: over the same frequencies.

    Returns:
        A line each; one that says so where nothing worth telling has changed.
    """
    found = [
        *_gains(settled, moved),
        *_crossings(settled, moved),
        *_lowest(settled, moved),
        *_corners(settled, moved),
        *_slopes(settled, moved),
    ]
    return tuple(found) or ("nothing worth telling changes",)


def change_words(ratio: float) -> str:
    """How far a value is from where it was: "+20 %", "x 3.1"; empty where it is there."""
    if abs(ratio - 1.0) < _SAME:
        return ""
    if not _A_HALF < ratio < 1.0 / _A_HALF:
        return f"x {show_plain(ratio, '1', 2)}"
    share = 100.0 * (ratio - 1.0)
    return f"{share:+.1f} %" if abs(share) < _FINE_PERCENT else f"{share:+.0f} %"


def amplifier_lines(behaviour: Behaviour) -> tuple[str, ...]:
    """What the amplifier sees: the lowest impedance, its angles, which rated value it fits."""
    lines = [lowest_line(behaviour), *_angles(behaviour)]
    ohm = behaviour.minimum_impedance.ohm.value
    fits = [rated for rated in RATED_OHM if RATED_SHARE * rated <= ohm]
    if fits:
        lines.append(f"counts as {fits[0]:g} Ω: it falls nowhere below 80 % of that (IEC 60268-5)")
    else:
        lines.append("lower than most amplifiers bear")
    half = show_plain(ohm / 2.0, "ohm", 2)
    lines.append(f"from a bridged amplifier each half sees half of it: {half} at the lowest")
    lines.append("each driver is taken as a resistor of its rated ohms; a real one differs")
    return tuple(lines)


# -- levels --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A run of frequencies in which a level has moved one way: first and last index, largest."""

    first: int
    last: int
    change_db: float
    flat: bool


def _gains(settled: Behaviour, moved: Behaviour) -> Iterator[str]:
    floor = _floor(settled)
    for one, other in zip(settled.outputs, moved.outputs, strict=True):
        if not np.isfinite(other.gain_db).any():
            yield f"{other.name} is silent"
            continue
        f_hz, found = settled.frequency_hz, _stretches(one.gain_db, other.gain_db, floor)
        told = [f"{_change(it)} {_place(f_hz, it)}{_band(one, other, it)}" for it in found]
        if told:
            yield f"{one.name}: {'; '.join(told)}"


def _floor(settled: Behaviour) -> float:
    tops = (one.level_db.value for one in settled.traits.values() if one.level_db is not None)
    return max(tops, default=0.0) - HEARD_DB


def _stretches(before: Floats, after: Floats, floor: float) -> Iterator[_Stretch]:
    """The largest change, and the largest the other way where it is not minor."""
    with np.errstate(invalid="ignore"):
        change = after - before
    heard = np.isfinite(change) & (np.maximum(before, after) > floor)
    audible = np.where(heard, change, 0.0)
    least = LEAST_DB
    for sign in (1.0, -1.0) if audible.max() >= -audible.min() else (-1.0, 1.0):
        peak = int(np.argmax(sign * audible))
        top = float(sign * audible[peak])
        if top >= least:
            yield _around(sign * change, peak, sign)
            least = max(least, _MINOR * top)


def _around(change: Floats, peak: int, sign: float) -> _Stretch:
    """The run around a peak in which at least half of it is left."""
    top = float(change[peak])
    small = np.flatnonzero(~(change >= 0.5 * top))
    first = int(small[small < peak].max(initial=-1)) + 1
    last = int(small[small > peak].min(initial=change.size)) - 1
    flat = bool(np.median(change[first : last + 1]) > _FLAT * top)
    return _Stretch(first, last, sign * top, flat)


def _change(stretch: _Stretch) -> str:
    size = stretch.change_db
    told = f"{size:+.1f} dB" if abs(size) >= 0.095 else f"{size:+.2f} dB"
    return told if stretch.flat else f"up to {told}"


def _place(f_hz: Floats, stretch: _Stretch) -> str:
    low, high = (show_plain(float(f_hz[k]), "Hz", 2) for k in (stretch.first, stretch.last))
    if stretch.first == 0:
        return "everywhere" if stretch.last == f_hz.size - 1 else f"below {high}"
    if stretch.last == f_hz.size - 1:
        return f"above {low}"
    return f"at {low}" if low == high else f"from {low} to {high}"


def _band(settled: OutputCurve, moved: OutputCurve, stretch: _Stretch) -> str:
    band: Band | None = settled.band
    if band is None:
        return ""
    here = slice(stretch.first, stretch.last + 1)
    inside = (moved.gain_db[here] >= band.low[here]) & (moved.gain_db[here] <= band.high[here])
    if inside.all():
        return ", inside your band"
    return ", outside your band" if not inside.any() else ", partly outside your band"


# -- features ------------------------------------------------------------------------------


def _crossings(settled: Behaviour, moved: Behaviour) -> Iterator[str]:
    floor = _floor(settled)
    before, after = _heard(settled.crossings, floor), _heard(moved.crossings, floor)
    for one in before:
        alike = [other for other in after if other.between == one.between]
        a, b = one.between
        if not alike:
            yield f"{a} and {b} no longer cross at {_hz(one.frequency_hz.value)}"
            continue
        other = min(alike, key=lambda it: _apart(it.frequency_hz, one.frequency_hz))
        after.remove(other)
        if _apart(one.frequency_hz, other.frequency_hz) > LEAST_RATIO:
            now, inside = other.frequency_hz.value, _inside(one.frequency_hz, other.frequency_hz)
            was = _hz(one.frequency_hz.value)
            yield f"{a} and {b} now cross at {_hz(now)} (was {was}){inside}"
    for other in after:
        a, b = other.between
        yield f"{a} and {b} now cross at {_hz(other.frequency_hz.value)} too"


def _heard(crossings: Iterable[Crossing], floor: float) -> list[Crossing]:
    return [one for one in crossings if one.gain_db is not None and one.gain_db > floor]


def _lowest(settled: Behaviour, moved: Behaviour) -> Iterator[str]:
    before, after = settled.minimum_impedance, moved.minimum_impedance
    if _apart(before.ohm, after.ohm) > LEAST_RATIO:
        now, was = (
            f"{show_plain(one.ohm.value, 'ohm', 3)} at {show_plain(one.frequency_hz, 'Hz', 2)}"
            for one in (after, before)
        )
        yield f"lowest impedance now {now} (was {was}){_inside(before.ohm, after.ohm)}"


def _corners(settled: Behaviour, moved: Behaviour) -> Iterator[str]:
    for name, traits in settled.traits.items():
        before, after = _by_side(traits.corners), _by_side(moved.traits[name].corners)
        for side in ("below", "above"):
            one, other = before.get(side), after.get(side)
            if one is None and other is not None:
                yield f"{name} is now 3 dB down at {_hz(other.value)} and {side}"
            elif one is not None and other is None:
                yield f"{name} is no longer 3 dB down {side} {_hz(one.value)}"
            elif one is not None and other is not None and _apart(one, other) > LEAST_RATIO:
                inside = _inside(one, other)
                yield f"{name} now 3 dB down at {_hz(other.value)} (was {_hz(one.value)}){inside}"


def _by_side(corners: Iterable[Corner]) -> dict[str, Bounded]:
    return {one.side: one.frequency_hz for one in corners if one.depth == "minus_3_db"}


def _slopes(settled: Behaviour, moved: Behaviour) -> Iterator[str]:
    for name, traits in settled.traits.items():
        after: dict[str, Slope] = {one.side: one for one in moved.traits[name].slopes}
        for one in traits.slopes:
            other = after.get(one.side)
            if other and abs(other.db_per_octave - one.db_per_octave) >= LEAST_SLOPE_DB:
                yield f"{name} {other.words} (was {abs(one.db_per_octave):.0f})"


def _angles(behaviour: Behaviour) -> Iterator[str]:
    curve, f_hz = behaviour.input_impedance, behaviour.frequency_hz
    phase = np.where(np.isfinite(curve.phase_deg), curve.phase_deg, 0.0)
    for spot, kind in ((int(np.argmin(phase)), "capacitor"), (int(np.argmax(phase)), "coil")):
        angle = float(phase[spot])
        if abs(angle) >= _STEEP_DEG and (angle < 0.0) == (kind == "capacitor"):
            ohm = show_plain(float(curve.magnitude_ohm[spot]), "ohm", 2)
            at = show_plain(float(f_hz[spot]), "Hz", 2)
            yield f"most like a {kind} at {at}: {angle:+.0f}°, {ohm}"


def _apart(one: Bounded, other: Bounded) -> float:
    if one.value <= 0.0 or other.value <= 0.0:
        return 0.0 if one.value == other.value else 1.0
    return abs(log(other.value / one.value))


def _inside(settled: Bounded, moved: Bounded) -> str:
    if settled.low is None or settled.high is None:
        return ""
    inside = settled.low <= moved.value <= settled.high
    return ", inside your band" if inside else ", outside your band"


def _hz(value: float) -> str:
    return show_plain(value, "Hz", 3)
