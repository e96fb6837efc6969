"""The error of a person's own input, apart from all that explains errors, so that every command may name it at once."""


class InputError(Exception):
    """Something on the command line, or in a file named there, is wrong; the message is the sentence."""
