"""Everything that can go wrong with a board; each message says what, where, what was expected, what to do next."""

from pulldrop.wire.messages import Trip

TRIPS = {
    Trip.OVER_CURRENT: "the coil took more current than its limit for 1 ms. Look for a shorted or reversed part.",
    Trip.EMERGENCY_STOP: "the emergency stop was opened. Close it when the bench is safe.",
    Trip.LEASE: "it heard nothing from the computer for 500 ms. Run again.",
    Trip.ON_TIME: "the coil was on for longer than the request allowed. Run again.",
}
"""Why a board turned everything off, and what to do."""


class BoardError(Exception):
    """Base: trouble of the bench, never a finding about the part."""


class NoBoard(BoardError):
    """No port, or nothing answers there."""


class WrongBoard(BoardError):
    """Something answers, but it is not a pulldrop board, or it speaks another schema."""


class BoardLost(BoardError):
    """The line broke during a run: unplugged, powered off."""


class NoAnswer(BoardError):
    """No valid answer within the time, after the allowed retry."""


class BoardReset(BoardError):
    """The board restarted during a run."""


class WireTrouble(BoardError):
    """Readings that no part can make: a wire of the bench is broken, or touches another."""


class TooLate(BoardError):
    """What was let on went off by its own time before it was read: the computer stood still meanwhile."""


class WrongSupply(BoardError):
    """A supply that the bench was not built for."""


class Refused(BoardError):
    """The board refused a request; `reason` is its word: busy, tripped, argument, duty, bus, build, energised."""

    def __init__(self, reason: str, message: str) -> None:
        super().__init__(message)
        self.reason = reason


class Tripped(BoardError):
    """The board turned everything off by itself; `trip` says why. Acknowledge before going on."""

    def __init__(self, trip: Trip, message: str) -> None:
        super().__init__(message)
        self.trip = trip
