"""Where the parts of a circuit lie: strips and wires of the full bench, places and copper of the evening board."""
