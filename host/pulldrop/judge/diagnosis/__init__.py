"""From the readings of one run to named faults: evidence, what each fault does to it, and what explains all of it."""

from pulldrop.judge.diagnosis.reason import NOTHING, Diagnosis, diagnose

__all__ = ["NOTHING", "Diagnosis", "diagnose"]
