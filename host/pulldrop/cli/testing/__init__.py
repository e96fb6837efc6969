"""Commands that test: one part, a crate, a board."""
