"""What is seen and said of a vehicle: the looks at a relay's socket and the state of its legs."""
