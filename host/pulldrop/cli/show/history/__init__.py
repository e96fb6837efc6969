"""What the store keeps, on the terminal."""
