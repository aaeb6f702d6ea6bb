"""The file on disk: an append-only store with its history, import, export and archive."""
