"""Placeholder until the units room is built."""
from ohmbook.units.quantity import Accuracy, Quantity, Unit


def parse_quantity(text: object, unit: Unit) -> Quantity:
    raise NotImplementedError


def parse_accuracy(text: object, unit: Unit) -> Accuracy:
    raise NotImplementedError
