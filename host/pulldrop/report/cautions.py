"""The cautions that belong to a report of runs; each is shown when the records' steps call for it."""

from collections.abc import Sequence

from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording.cautions import BATTERY, CLOSED, DECIDE, HOT, NO_LOAD, PULSES, SPIKES, VEHICLE, loaded


def cautions(records: Sequence[RunRecord]) -> tuple[str, ...]:
    """What applies to at least one of the records, once each."""
    told = [SPIKES]
    if any(map(loaded, records)):
        told += [HOT, PULSES]
    if not all(map(loaded, records)):
        told.append(NO_LOAD)
    if any(record.faults for record in records):
        told.append(CLOSED)
    return (*told, BATTERY, VEHICLE, DECIDE)
