"""The coil alone: looks at a few mA, what is across it, and walks of its volts to where a contact changes."""
