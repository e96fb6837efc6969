"""One procedure a file, named as the step of a protocol that asks for it."""
