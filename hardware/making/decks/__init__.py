"""ngspice decks from the circuit data: blocks, input pins, the 5 V rail, and the bench at rest."""
