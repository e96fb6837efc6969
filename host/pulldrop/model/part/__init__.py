"""What a part is, and what is promised of it."""
