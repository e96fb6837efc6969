"""What a person keeps: one-file HTML; takes finished records only."""

from pulldrop.report.html import page

__all__ = ["page"]
