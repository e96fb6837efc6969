"""The physics of the bench around the part: pins, network, converters, and what can break."""
