"""Tests of the figures room."""
