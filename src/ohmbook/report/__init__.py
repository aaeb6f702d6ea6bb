"""The printed report: pure functions from frozen values to what rich prints. Nothing is computed.

Numbers are written by `ohmbook.units.show` alone; decibels, percentages and factors, which have no
unit there, by `ohmbook.report.words`.
"""
