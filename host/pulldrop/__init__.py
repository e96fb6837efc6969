"""pulldrop: test a relay or switch pulled from a vehicle, by numbers."""

__version__ = "0.1.0"
