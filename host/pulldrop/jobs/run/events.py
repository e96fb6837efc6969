"""Events of a run while it goes, for whoever shows them."""

from dataclasses import dataclass

from pulldrop.measure import StepStarted
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity
from pulldrop.model.part.part import Part
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged


@dataclass(frozen=True, slots=True)
class RunStarted:
    """Board open, part known, nothing energised yet. `warnings`: what is to be known of the calibration."""

    run: str
    part: Part
    plan: Plan
    board: Identity
    calibration: Calibration
    warnings: tuple[str, ...] = ()


Event = RunStarted | StepStarted | Judged | RunRecord
"""In this order: one RunStarted, then steps and judged measurements as they come, at the end one RunRecord."""
