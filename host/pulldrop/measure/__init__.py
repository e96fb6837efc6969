"""One procedure a file: from board counts to readings, without a limit in sight."""

from pulldrop.measure.perform import StepStarted, perform, renew

__all__ = ["StepStarted", "perform", "renew"]
