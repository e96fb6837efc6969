"""What the bench checks of itself: with an empty socket, with a shorting link in it, and by a hand at the stop."""
