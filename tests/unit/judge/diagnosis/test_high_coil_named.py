"""A coil whose ohms keep a sound armature at rest at nominal volts is named by its ohms, and no armature behind it."""

import pytest
from test_beside_siblings import beside, part
from test_diagnosis import readings, sheet

from pulldrop.judge.diagnosis import diagnose
from pulldrop.model.reading import Finding, Reading
from pulldrop.protocol.load import plan

SHUT = dict.fromkeys(
    ("release_time", "bounce_time_no", "bounce_time_nc", "contact_drop_no", "contact_scatter_no",
     "contact_before_load_no", "contact_loaded_no", "contact_after_load_no", "drop_out_voltage"),
)  # fmt: skip
LATE = Reading(id="operate_time", unit="s", value=0.0264, bound=">")
NEVER = Reading(id="pull_in_voltage", unit="V", value=16.8, bound=">")
NO_DIP = Reading(id="armature_seat_time", unit="s", value=0.03, bound=">")


def resting(factor: float, pull_in_v: float | None) -> list[Finding]:
    """A part of 90 ohm times `factor` that stays at rest at 12 V; `pull_in_v`: None where the walk found none."""
    ohm = 90.0 * factor
    coil = dict.fromkeys(("coil_resistance_low", "coil_resistance", "coil_resistance_20c"), ohm)
    amps = {} if pull_in_v is None else {"pull_in_voltage": pull_in_v, "pull_in_current": pull_in_v / ohm}
    found = readings(**SHUT | coil | amps, contact_operated="30-87=0 30-87a=1")  # type: ignore[arg-type]
    gone = {"operate_time", "armature_seat_time", "armature_start_time"}
    if pull_in_v is None:
        gone |= {"pull_in_current"}
        return [*(one for one in found if one.id not in gone), LATE, NO_DIP, NEVER]
    return [*(one for one in found if one.id not in gone), LATE, NO_DIP]


WALKS = ((1.9, 13.0), (2.1, 14.2), (2.15, None))


@pytest.mark.parametrize(("factor", "pull_in_v"), WALKS)
def test_a_corroded_coil_that_lets_nothing_operate_is_named_alone(factor: float, pull_in_v: float | None) -> None:
    assert [one.id for one in diagnose(sheet(), resting(factor, pull_in_v)).faults] == ["coil_high"]


@pytest.mark.parametrize(("factor", "pull_in_v"), WALKS)
def test_of_a_class_it_is_another_design_or_corroded_and_never_stuck(factor: float, pull_in_v: float | None) -> None:
    told = diagnose(plan("relay-diagnose", "class-mini-12v-form-c"), resting(factor, pull_in_v))
    assert not told.faults
    assert told.unlike and "a corroded winding" in told.unlike.text


@pytest.mark.parametrize("factor", (3.8, 4.2))
@pytest.mark.parametrize("rating", ("class-mini-12v-form-c", "cit-a2-12v-90ohm-form-c"))
def test_a_coil_of_twice_the_volts_is_named_alone(factor: float, rating: str) -> None:
    found = diagnose(plan("relay-diagnose", rating), resting(factor, None)).faults
    assert [one.id for one in found] == ["wrong_voltage"]


@pytest.mark.parametrize("factor", (1.0, 1.3))
def test_ohms_that_do_not_keep_it_at_rest_leave_the_armature_stuck(factor: float) -> None:
    """At 1.3 times its ohms a sound part needs at most 78 % of nominal times 1.3, which the walk reaches."""
    assert "stuck_at_rest" in [one.id for one in diagnose(sheet(), resting(factor, None)).faults]


@pytest.mark.parametrize("more", (1.0, 1.1))
def test_beside_siblings_its_pull_in_may_be_a_tenth_off_theirs(more: float) -> None:
    siblings = [part(times, pull_in_voltage=6.05, pull_in_current=0.0672) for times in (0.99, 1.0, 1.01)]
    corroded = resting(1.95, 6.05 * 1.95 * more)
    assert [one.id for one in beside(corroded, siblings).faults] == ["coil_high"]
