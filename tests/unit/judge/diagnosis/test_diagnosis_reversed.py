"""What reversed pulses did to a part settles its diagnosis; what nobody did, or could do, settles nothing."""

import pytest

from pulldrop.judge.diagnosis import diagnose
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.reading import Finding, NotTested, Reading, Term, state_of
from pulldrop.model.run.fault import NamedFault
from pulldrop.protocol.load import plan

REST, OPERATED = "30-87=0 30-87a=1", "30-87=1 30-87a=0"
SOUND: dict[str, float] = {"coil_resistance": 90.0, "coil_resistance_20c": 90.0, "pull_in_current": 0.068,
                           "pull_in_voltage": 6.1, "drop_out_voltage": 2.5}  # fmt: skip
LATE = SOUND | {"pull_in_current": 0.043, "pull_in_voltage": 3.9, "drop_out_voltage": 0.76}
"""Lets go at 6 % of nominal: a weak spring does, and magnetised iron does."""
LEFT_OUT = NotTested(id="drop_out_rise", reason="left out: nobody was asked to exchange the coil leads")


def value(id: str, number: float, u: float = 0.01) -> Reading:
    budget = (Term(name="all", u=max(u * abs(number), 0.01), why="invented"),)
    return Reading(id=id, unit=MEASUREMENTS[id].unit, value=number, budget=budget)


def named(numbers: dict[str, float], *more: Finding, rest: str = REST) -> tuple[NamedFault, ...]:
    found: list[Finding] = [Reading(id="contact_rest", unit="", state=state_of(rest))]
    return diagnose(
        plan("relay-reversed", "cit-a2-12v-90ohm-form-c"), [*found, *(value(id, n) for id, n in numbers.items()), *more]
    ).faults


def states(released: str, reversed: str) -> list[Finding]:
    return [
        Reading(id="contact_released", unit="", state=state_of(released)),
        Reading(id="contact_reversed", unit="", state=state_of(reversed)),
    ]


def test_a_sound_part_that_reversed_pulses_leave_alone_yields_no_finding() -> None:
    assert named(SOUND, *states(REST, REST), value("drop_out_rise", 0.0)) == ()


def test_a_rise_of_the_drop_out_names_magnetised_iron_and_none_a_weak_spring() -> None:
    risen = named(LATE, *states(REST, REST), value("drop_out_rise", 0.9))
    assert risen[0].id == "residual_magnetism" and risen[0].weight > 0.8
    assert any(one.id == "drop_out_rise" and one.speaks == "for" for one in risen[0].evidence)
    assert named(LATE, *states(REST, REST), value("drop_out_rise", 0.0))[0].id == "weak_spring"


def test_a_rise_within_its_uncertainty_is_none() -> None:
    assert named(LATE, *states(REST, REST), value("drop_out_rise", 0.3, u=0.5))[0].id == "weak_spring"
    assert named(LATE, *states(REST, REST), value("drop_out_rise", 0.3))[0].id == "residual_magnetism"


@pytest.mark.parametrize(("after", "fault"), [(REST, "held_magnetised"), (OPERATED, "held_operated")])
def test_of_a_part_that_stays_operated_the_reversed_pulse_tells_iron_from_hinge(after: str, fault: str) -> None:
    gone = [NotTested(id=id, reason="not steady") for id in ("pull_in_voltage", "pull_in_current", "drop_out_voltage")]
    coil = {id: SOUND[id] for id in ("coil_resistance", "coil_resistance_20c")}
    found = named(coil, *gone, *states(OPERATED, after))
    assert found[0].id == fault
    assert found[0].further == ""


def test_a_part_that_came_in_operated_and_was_freed_is_magnetised_and_not_welded() -> None:
    gone = [
        NotTested(id=id, reason="NO is closed") for id in ("pull_in_voltage", "pull_in_current", "drop_out_voltage")
    ]
    coil = {id: SOUND[id] for id in ("coil_resistance", "coil_resistance_20c")}
    found = named(coil, *gone, *states(OPERATED, REST), rest=OPERATED)
    assert found[0].id == "held_magnetised"


@pytest.mark.parametrize("more", [[], [LEFT_OUT]])
def test_what_was_left_out_says_nothing_and_is_still_advised(more: list[Finding]) -> None:
    found = {one.id: one for one in named(LATE, *more)}
    assert {"weak_spring", "residual_magnetism"} <= set(found)
    assert "-reversed" in found["residual_magnetism"].further
    assert named(SOUND, *more) == ()


def test_the_advice_stands_however_sure_the_diagnosis_is_and_ends_when_it_was_followed() -> None:
    sure = named(SOUND | {"pull_in_current": 0.045, "pull_in_voltage": 4.2, "drop_out_voltage": 0.4})
    assert sure[0].id == "residual_magnetism" and "-reversed" in sure[0].further
    followed = named(LATE, *states(REST, REST), value("drop_out_rise", 0.9))
    assert followed[0].further == ""
