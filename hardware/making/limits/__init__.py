"""What the parts of a circuit bear: worst cases, faults, currents and heat."""
