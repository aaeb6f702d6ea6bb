"""The built-in board: a sheet, nothing else."""
