"""Linear circuits: elements, topology, plan, run, sensitivities. No statistics."""

from ohmbook.circuit.bands import Bands, bands
from ohmbook.circuit.digits import DigitsLost, Losses, digits_lost, losses
from ohmbook.circuit.faults import Fault, network_faults
from ohmbook.circuit.response import Response, respond
from ohmbook.circuit.sensitivity import EachSlopes, Slopes, slopes, slopes_each
from ohmbook.circuit.sizes import Sized, Sizes

__all__ = [
    "Bands",
    "DigitsLost",
    "EachSlopes",
    "Fault",
    "Losses",
    "Response",
    "Sized",
    "Sizes",
    "Slopes",
    "bands",
    "digits_lost",
    "losses",
    "network_faults",
    "respond",
    "slopes",
    "slopes_each",
]
