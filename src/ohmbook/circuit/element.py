"""What each element puts into a circuit: shorts, opens, and leaves that hold numbers.

A branch is a projective impedance n:d, so that nothing is ever divided by a value that may be
zero. A *leaf* is one number of such a pair that depends on a value or on frequency; whatever is
not a leaf is 1:

    resistor                n = R
    coil                    n = r + X,   X = jwL (jw/w0)^(-loss)
    winding capacitance     d = Y,       Y = jwC
    mutual reactance        n = X,       X = +-jwM (jw/w0)^(-loss)
    semi-inductor           the same, with M = K w0^(n - 1) and loss = 1 - n
    capacitor               d = Y,       Y = jwC (jw/w0)^(-loss)
    the same, lossy         n = 1 + rY,  d = Y

with w0 = 2 pi `REFERENCE_HZ`. Values that are zero throughout make a structural short or open;
so does 0 Hz, where a coil is its resistance and a capacitor is open.

Reference: the exponent is W. M. Leach, J. Audio Eng. Soc. 50 (6), 2002, Z = K (jw)^n, with
n = 1 - loss; the same form for a capacitor is Curie's and von Schweidler's law.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pi
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ohmbook.circuit.network import REFERENCE_HZ, Element

Reals = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Rows = NDArray[np.intp]
Form = Literal[
    "short", "open", "resistance", "coil", "winding", "mutual", "capacitor", "lossy capacitor"
]
IsZero = Callable[[str], bool]


def forms(element: Element, is_zero: IsZero, at_dc: bool) -> tuple[Form, ...]:
    """The form an element takes; two where a coil has a winding capacitance.

    Args:
        element: which element.
        is_zero: tells for a quantity whether it is zero throughout.
        at_dc: whether at 0 Hz.
    """
    if element == "short" or element == "open":
        return (element,)
    if element == "semi-inductor":
        return ("short",) if at_dc or is_zero("modulus") else ("mutual",)
    if element == "point":
        return _point(is_zero, at_dc)
    if element == "resistor":
        return ("short",) if is_zero("resistance") else ("resistance",)
    if element == "capacitor":
        return (_capacitor(is_zero, at_dc),)
    return _inductor(is_zero, at_dc)


def _point(is_zero: IsZero, at_dc: bool) -> tuple[Form, ...]:
    if at_dc or is_zero("inductance"):
        return ("short",) if is_zero("resistance") else ("resistance",)
    return ("coil",)


def _capacitor(is_zero: IsZero, at_dc: bool) -> Form:
    if at_dc or is_zero("capacitance"):
        return "open"
    return "capacitor" if is_zero("resistance") else "lossy capacitor"


def _inductor(is_zero: IsZero, at_dc: bool) -> tuple[Form, ...]:
    ideal = is_zero("resistance")
    if at_dc or is_zero("inductance"):
        if ideal:
            return ("short",)
        coil: Form = "resistance"
    else:
        coil = "coil"
    if at_dc or is_zero("winding_capacitance"):
        return (coil,)
    return (coil, "winding")


@dataclass(frozen=True, slots=True, eq=False)
class Bank:
    """The leaves of a circuit, alike ones together, as rows of a table of values.

    Leaf slots in order: coils, windings, mutual reactances, capacitors, lossy capacitors (these
    hold the *reactances*: X or Y), then the n of each lossy capacitor, then the resistances.

    Args:
        main: row of L or C for each reactance.
        loss: row of its loss exponent (the table's last row, all zero, for a winding).
        lossy: which reactances have a loss exponent other than zero.
        coil: row of the series resistance of each coil.
        lossy_capacitor: row of the series resistance of each lossy capacitor.
        resistance: row of each resistance.
    """

    main: Rows
    loss: Rows
    lossy: Rows
    coil: Rows
    lossy_capacitor: Rows
    resistance: Rows

    @property
    def reactances(self) -> int:
        """How many reactances."""
        return self.main.size

    @property
    def varying(self) -> int:
        """How many leaves vary with frequency."""
        return self.main.size + self.lossy_capacitor.size

    @property
    def leaves(self) -> int:
        """How many leaves in all."""
        return self.varying + self.resistance.size


def omega_of(f_hz: Reals) -> Reals:
    """Angular frequency in rad/s."""
    return 2.0 * pi * f_hz


def log_reference(omega: Reals) -> Reals:
    """ln(w/w0) for angular frequencies in rad/s."""
    return np.asarray(np.log(omega * (1.0 / (2.0 * pi * REFERENCE_HZ))))


def fill_reactances(bank: Bank, table: Reals, omega: Reals, out: Complexes) -> None:
    """Work out every X and Y.

    Args:
        bank: the leaves.
        table: values by row, shape (rows, ...), SI.
        omega: angular frequency in rad/s, above 0; broadcasts with a row of the table.
        out: shape (bank.reactances, ...), overwritten.
    """
    size = table[bank.main] * omega
    out.real = 0.0
    out.imag = size
    if bank.lossy.size:
        # j^(1-loss) as sin + j cos, so that a loss of exactly 0 leaves a real part of exactly 0.
        loss = table[bank.loss[bank.lossy]]
        size = size[bank.lossy] * np.exp(-loss * log_reference(omega))
        out.real[bank.lossy] = size * np.sin(0.5 * pi * loss)
        out.imag[bank.lossy] = size * np.cos(0.5 * pi * loss)


def add_series(bank: Bank, table: Reals, leaves: Complexes) -> None:
    """Finish the leaves that vary: r + X of coils, 1 + rY of lossy capacitors.

    Args:
        bank: the leaves.
        table: values by row, shape (rows, ...), SI.
        leaves: shape (bank.varying or more, ...), the reactances already in it.
    """
    count, coils, series = bank.reactances, bank.coil.size, bank.lossy_capacitor.size
    if series:
        numerator, reactance = leaves[count : count + series], leaves[count - series : count]
        # Part by part: a real times a complex array would be converted first.
        np.multiply(table[bank.lossy_capacitor], reactance.real, out=numerator.real)
        np.multiply(table[bank.lossy_capacitor], reactance.imag, out=numerator.imag)
        numerator.real += 1.0
    if coils:
        leaves.real[:coils] += table[bank.coil]
