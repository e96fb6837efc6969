"""Settings of the steps that ask the coil."""
