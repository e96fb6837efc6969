"""A crate of parts, one after the other: what is seen, what is decided, and what a restart finds."""
