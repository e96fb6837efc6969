"""Board and calibration together, and what every procedure is made of: loads, looks, checks of the wires."""
