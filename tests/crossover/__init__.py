"""Tests of the crossover room."""
