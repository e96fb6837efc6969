"""Pictures from the circuit data: schematic sheets, boards, and the legs of parts."""
