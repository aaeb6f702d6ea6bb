"""The frozen nouns: part, source, instrument, sketch, set-up, reading base, finding, sheet."""
