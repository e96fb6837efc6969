"""Procedures on the coil and on what moves it."""
