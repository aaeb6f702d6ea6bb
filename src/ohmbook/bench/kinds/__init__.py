"""TODO room."""
