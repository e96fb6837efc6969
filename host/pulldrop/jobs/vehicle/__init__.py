"""What a person sets out to do at a vehicle: watch its wires, and find the dead leg behind a socket."""
