"""Settings of the looks at a few mA."""
