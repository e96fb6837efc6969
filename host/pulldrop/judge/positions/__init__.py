"""What a switch's table means, and how it differs from the one that it should have."""
