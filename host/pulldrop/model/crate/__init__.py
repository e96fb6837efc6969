"""A crate while it is sorted and when it is reported."""
