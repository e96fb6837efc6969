"""The bench's circuit as data, and what is made from it: lists, drawings, stress table, simulation decks."""
