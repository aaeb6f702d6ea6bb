"""Linear circuits: elements, topology, plan, run, sensitivities. No statistics."""

from ohmbook.circuit.digits import DigitsLost, digits_lost
from ohmbook.circuit.faults import Fault, network_faults
from ohmbook.circuit.response import Response, respond
from ohmbook.circuit.sensitivity import Slopes, slopes

__all__ = [
    "DigitsLost",
    "Fault",
    "Response",
    "Slopes",
    "digits_lost",
    "network_faults",
    "respond",
    "slopes",
]
