"""What the readings say, in the terms in which faults are described: shares of the rated value, times, ohms, states."""
