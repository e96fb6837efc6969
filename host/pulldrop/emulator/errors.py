"""What can keep the emulated board from running, as one sentence for a person."""


class EmulatorError(Exception):
    """The emulated board cannot be built or started, or its firmware stopped."""
