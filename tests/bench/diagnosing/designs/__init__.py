"""Relays of designs that nobody fitted: a second plant, designs drawn over makers' windows, and their campaign."""
