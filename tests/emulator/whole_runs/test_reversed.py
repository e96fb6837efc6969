"""The compiled firmware and the virtual board tell the same of reversed pulses, the leads exchanged on both."""

import pytest
from calibrated import calibrate_virtual

from pulldrop.jobs.run.boards import open_socket, virtual_hand
from pulldrop.jobs.run.specimens import find
from pulldrop.judge.diagnosis import diagnose
from pulldrop.measure import StepStarted, perform
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps.coil.reversed import ReversedStep
from pulldrop.protocol.load import plan

SEED = 2
NUMBERS = ("drop_out_before_reversal", "drop_out_after_reversal")


def shortened() -> Plan:
    """Each drop-out in one walk: the emulated board takes its time."""
    whole = plan("relay-reversed", "class-mini-12v-form-c")
    steps = [s.model_copy(update={"walks": 1} if isinstance(s, ReversedStep) else {}) for s in whole.steps]
    return whole.model_copy(update={"steps": tuple(steps)})


def told(kind: str, name: str) -> dict[str, Finding]:
    with open_socket(kind, find(name), SEED) as opened:
        assert opened.leads
        steps = perform(shortened(), opened.board, calibrate_virtual(SEED), hand=virtual_hand(opened.leads))
        return {one.id: one for one in steps if not isinstance(one, StepStarted)}


@pytest.mark.slow
@pytest.mark.parametrize("name", ["good-12v-changeover", "magnetised", "stays-operated", "good-with-diode"])
def test_both_boards_tell_the_same_of_reversed_pulses(name: str) -> None:
    emulated, virtual = told("emulated", name), told("virtual", name)
    assert emulated.keys() == virtual.keys()
    for id, one in emulated.items():
        other = virtual[id]
        assert type(one) is type(other), id
        if isinstance(one, Reading) and isinstance(other, Reading):
            assert (one.state, one.bound) == (other.state, other.bound), id
            if id in NUMBERS and one.bound == "=":
                apart = abs((one.value or 0) - (other.value or 0))
                assert apart < one.expanded_uncertainty + other.expanded_uncertainty, id
        elif isinstance(one, NotTested) and isinstance(other, NotTested):
            assert one.reason == other.reason
    named = [one.id for one in diagnose(shortened(), emulated.values()).faults]
    wanted = {"magnetised": ["residual_magnetism"], "stays-operated": ["held_magnetised"]}
    assert named[:1] == wanted.get(name, [])
