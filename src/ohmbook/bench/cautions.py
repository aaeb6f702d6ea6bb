"""The usual cautions, each shown before the set-up it belongs to.

Common practice of the trade; none of it replaces local codes or licensed practice.
"""

from __future__ import annotations

DISCHARGE = (
    "Discharge capacitors through a resistor (some 100 ohm, 5 W), then measure that they are "
    "empty, before you touch or test anything."
)
NO_POWER_AMPLIFIER = (
    "Never drive a board with its drivers detached from a power amplifier: an unloaded arm is a "
    "series resonator. Use a source of 10 ohm or more."
)
SCOPE_EARTH = (
    "The scope's ground clip is earth: it shorts whatever node it touches to earth. Clip it only "
    "where the circuit may be earthed, and never lift the scope's earth."
)
BRIDGED = (
    "Neither terminal of a bridged amplifier is ground: keep the scope's ground clip off both."
)
UNPOWERED = "Measure resistance only on a board that is unplugged and empty of charge."
MAINS = (
    "Parts out of mains equipment: unplug, wait, and leave live work to licensed people and your "
    "local code."
)
HOT_LOAD = "A load that takes more than a tenth of its rated power gets hot: keep it off the board."
RESONANT_VOLTS = (
    "At resonance the voltage across a coil or a capacitor is many times the source's: start with "
    "the amplitude low, and keep fingers off."
)
KICK = (
    "A coil kicks when its current is cut off: give it a clamp diode or a discharge resistor, and "
    "never open the circuit by hand while current flows."
)
DIFFERENCE = (
    "Read a part that is not at ground with two probes and CH1 - CH2, both ground clips on the "
    "circuit's ground: an earthed clip moved to another node shorts what lies between."
)
SHORT_PULSES = (
    "Switch on for about a millisecond and rest for a second: coil, shunt and switch get hot, and "
    "the current is limited by nothing else."
)
SWEEP_LOW = (
    "Tweeters: half a volt at most to begin with, and nothing below half the intended corner "
    "without a capacitor in series. Announce the tone before you drive it."
)
