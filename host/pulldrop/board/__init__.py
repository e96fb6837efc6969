"""The one seam: what a board can be asked, and the boards that answer."""
