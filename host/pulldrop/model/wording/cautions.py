"""Every caution that a screen, a page or a report shows: each is worded here or, where one step has it, in that step,
and chosen here.

Rule: a caution says what can hurt, and what to do. The last one is always DECIDE.
"""

from collections.abc import Iterable

from pulldrop.model import scale
from pulldrop.model.reading import ConditionName, Reading, condition
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.verdict import Overall

SPIKES = "Fingers and electronics off 85 and 86: a coil answers its switch-off with spikes of 1000 V and more."
HOT = "Load resistors stay hot long after a test, and the part may be hot: let them cool before you touch them."
STOP = "Keep the emergency stop within reach."
BATTERY = (
    "Feed the bench through a fuse at the battery. Take rings and watch off, ventilate, and make the last connection"
    " away from the battery."
)
FIRST_TODAY = f"First energised run of the day. {BATTERY}"
A_FEW_MA = "Only a few mA flow: only for a part that is out of its vehicle."
PULSES = "Short load pulses show the contact. They do not prove the full rated current, nor a long life."
NO_LOAD = "The contact was not loaded by this protocol. A contact that clicks may still carry nothing."
LIGHT_DUTY = f"Light duty is for {scale.LIGHT_LOADS}. A filament lamp draws 10 to 12 times its current as it lights."
CLOSED = (
    "Leave cases closed: springs and splinters can fly into the eyes, and old contacts may hold cadmium oxide, whose"
    " dust is poisonous."
)
PULL = "Pull and fit parts with their circuit switched off and its fuse out."
VEHICLE = (
    "Back in the vehicle: never fit a bigger fuse, never feed a module's wire. "
    "Airbag wiring (often yellow): no readings, no connections. "
    "Orange cable is high voltage: stop, and leave it to trained people."
)
PROBES = (
    "Up to 12 V stand at the coil terminals, and pulses of 1 to 10 A flow through the contacts: hold probes by their"
    " handles, and let no tip bridge two terminals."
)
DECIDE = "This aids judgement. Maker's data, local rules and licensed practice decide."
STOP_BELOW_V = 11.8
"""Of a battery of 12 V at rest: below, a person charges before they go on (practice)."""
ON_A_VEHICLE = (
    "Engine off, neutral, brake on, clear of fans; lamp covers off, and nobody on a ladder while anything is on.",
    "Airbag and belt-tensioner wiring (often yellow): no clip, no reading. Orange cable is high voltage: stop.",
    "Battery off before a ring is undone; rings and watch off; the last connection away from the battery.",
    "Every clip has its resistor or its fuse at the clip. Never a meter tip in a female terminal; never pierce a wire.",
    "Never feed a wire of a control module. The bulb and the load stay hot.",
    "Run the computer on its own battery: a mains earth, or a clip on the USB shell, burns it.",
    f"Stop when the battery falls below {STOP_BELOW_V:g} V (24 V: {2 * STOP_BELOW_V:g} V).",
    DECIDE,
)
"""Before a lead is put on a vehicle, confirmed once a day."""
NOBODY_NEAR = "Nobody under or on the vehicle: each control does what it does."
IN_THE_CABIN = (
    f"{NOBODY_NEAR} Wheels chocked, gear in neutral. What moves, heats, pumps or brakes is not asked for, if its file"
    " says so."
)
AT_THE_SOCKET = "Hands off while it tests; the part may be hot after it."


def before_run(plans: Iterable[Plan], first_today: bool) -> tuple[str, ...]:
    """What a person must know before any of these plans is run; `first_today`: the first energised run of the day."""
    steps = [step for plan in plans for step in plan.steps]
    if not any(step.fed or step.loads for step in steps):
        return A_FEW_MA, DECIDE
    told = (
        FIRST_TODAY if first_today else "",
        SPIKES if any(step.fed for step in steps) else "",
        HOT if any(step.loads for step in steps) else "",
        *dict.fromkeys(step.caution for step in steps),
        STOP,
        DECIDE,
    )
    return tuple(filter(None, told))


def after_run(record: RunRecord) -> tuple[str, ...]:
    """What belongs beside a verdict."""
    return (HOT, DECIDE) if loaded(record) else (DECIDE,)


def loaded(record: RunRecord) -> bool:
    """Whether the part has carried a load, or may have: after trouble of the bench only the plan tells."""
    if record.verdict.overall is Overall.BENCH_TROUBLE:
        return any(step.loads for step in record.plan.steps)
    made = (one.finding for one in record.judged if isinstance(one.finding, Reading))
    return any(one.id in ContactStep.gives or condition(ConditionName.LOAD, one.conditions) for one in made)


BEFORE_OPERATING = (SPIKES, STOP, DECIDE)
BEFORE_CALIBRATION = (PROBES, HOT, BATTERY, STOP, DECIDE)
WHILE_SORTING = (AT_THE_SOCKET, DECIDE)
OF_A_CRATE = (LIGHT_DUTY, PULSES, CLOSED, PULL, VEHICLE, DECIDE)
BEFORE_A_HUNT = (IN_THE_CABIN, *ON_A_VEHICLE)
OF_A_FLEET = (PULL, VEHICLE, DECIDE)
