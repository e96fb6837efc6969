"""Physics of part and bench; imports nothing of the host."""
