"""What is to be done to a part, and what came of it."""
