"""The page of a crate for the monitor at the bench and the phone in the cabin.

Rule: it shows CrateViews and hands Commands on; it decides nothing, and the bench never waits for it.
"""

from pulldrop.page.server import Page, PageError, served

__all__ = ["Page", "PageError", "served"]
