"""The reading kinds, their instruments' error causes, and their compilation into observations."""
