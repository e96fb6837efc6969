"""Procedures on the contacts: times, drops, letting go."""
