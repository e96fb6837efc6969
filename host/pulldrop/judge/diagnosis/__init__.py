"""From the readings of one run to named faults: evidence, what each fault does to it, and what explains all of it."""

from pulldrop.judge.diagnosis.reason import NOTHING, Diagnosis, diagnose
from pulldrop.judge.diagnosis.siblings import READ_OF_SIBLINGS, learned

__all__ = ["NOTHING", "READ_OF_SIBLINGS", "Diagnosis", "diagnose", "learned"]
