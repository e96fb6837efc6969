"""The cautions that belong to a report of runs; each is shown when the records' steps call for it."""

from collections.abc import Sequence

from pulldrop.model.run.record import RunRecord
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.wording.cautions import BATTERY, CLOSED, DECIDE, HOT, NO_LOAD, PULSES, SPIKES, VEHICLE


def cautions(records: Sequence[RunRecord]) -> tuple[str, ...]:
    """What applies to at least one of the records, once each."""
    loaded = [any(isinstance(step, ContactStep) for step in record.plan.steps) for record in records]
    told = [SPIKES]
    if any(loaded):
        told += [HOT, PULSES]
    if not all(loaded):
        told.append(NO_LOAD)
    if any(record.faults for record in records):
        told.append(CLOSED)
    return (*told, BATTERY, VEHICLE, DECIDE)
