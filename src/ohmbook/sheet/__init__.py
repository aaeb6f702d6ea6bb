"""The bench sheet: text to Sheet and back, every fault with its line."""
