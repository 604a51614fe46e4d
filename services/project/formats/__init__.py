"""How days and numbers are written, by language."""
