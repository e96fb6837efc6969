"""Board and calibration together, and what every procedure is made of: budgets, edges, ranges, checks of the wires."""
