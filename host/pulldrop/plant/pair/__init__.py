"""Physics of parts with two terminals: fuse, filament, diode and LED."""
