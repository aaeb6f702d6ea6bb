"""The bench page: a thin door. It parses, calls `job`, shows; nothing is computed here."""
