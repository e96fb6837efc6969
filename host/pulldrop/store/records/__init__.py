"""Nouns into rows and back, one file a kind of record."""
