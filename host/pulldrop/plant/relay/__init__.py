"""The physics of one relay in time."""
