"""From what was observed with references to a calibration of the bench's channels."""
