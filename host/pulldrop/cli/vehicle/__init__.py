"""Commands at a vehicle, one a file."""
