"""A vehicle's circuit behind the socket: battery, fuses, joints, switches, lamps, modules, and its fault."""
