"""What holds a store together over the years: its version, and whether it is what was written."""
