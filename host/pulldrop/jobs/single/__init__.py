"""Single parts, one after the other, by screens."""
