"""What only the evening build has: the whole of it in one deck, its loose wires, its worst cases, its schematic."""
