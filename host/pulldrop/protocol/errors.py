"""What can go wrong on the way from two names to a plan; each message is a sentence for a person."""


class ProtocolError(Exception):
    """Base: the input does not make a plan. Broken files raise `pulldrop.text.problem.BadText` instead."""


class UnknownName(ProtocolError):
    """No file of that name, and no shipped protocol or rating."""


class DoesNotFit(ProtocolError):
    """The protocol is made for another kind of part than the rating describes, or asks too much of the bench."""
