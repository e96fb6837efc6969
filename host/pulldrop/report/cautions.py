"""The cautions that belong to a report; each is shown when the record's steps call for it."""

from collections.abc import Sequence

from pulldrop.model.plan import ContactStep
from pulldrop.model.record import RunRecord

SPIKES = (
    "A coil without suppression answers switching-off with spikes of 1000 V and more. "
    "Keep fingers and electronics off 85 and 86."
)
HOT = "Load resistors stay hot long after a test. Let them cool before touching."
PULSES = "Short load pulses show the contact. They do not prove the full rated current, nor a long life."
NO_LOAD = "The contact was not loaded by this protocol. A contact that clicks may still carry nothing."
BATTERY = (
    "Feed the bench through a fuse at the battery. Take rings off, ventilate, "
    "and make the last connection away from the battery."
)
VEHICLE = (
    "Back in the vehicle: never fit a bigger fuse, never feed a module's wire. "
    "Airbag wiring (often yellow): no readings, no connections. "
    "Orange cable is high voltage: stop, and leave it to trained people."
)
AID = "This report is an aid to judgement. The maker's data, local rules and licensed practice decide."


def cautions(records: Sequence[RunRecord]) -> tuple[str, ...]:
    """What applies to at least one of the records, once each."""
    loaded = [any(isinstance(step, ContactStep) for step in record.plan.steps) for record in records]
    told = [SPIKES]
    if any(loaded):
        told += [HOT, PULSES]
    if not all(loaded):
        told.append(NO_LOAD)
    return (*told, BATTERY, VEHICLE, AID)
