"""Benchmarks and the simulations behind them: each runs with `python -m benchmarks.NAME`."""
