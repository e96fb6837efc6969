"""A bench calibrated, by a person or by the simulated instruments, and checked by parts measured again."""
