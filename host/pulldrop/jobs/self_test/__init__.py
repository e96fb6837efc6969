"""The bench tests itself, and gets its number."""
