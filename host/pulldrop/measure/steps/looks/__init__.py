"""Looks at a few mA: no load flows."""
