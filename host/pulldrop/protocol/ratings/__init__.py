"""Ratings as files: makers' sheets, classes of parts, and what a bench has learned of a type."""
