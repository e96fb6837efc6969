"""The 5 V rail in ngspice: plugged in, at its highest, and with the joints open that set its volts."""

import pytest
from making import circuit
from making.decks import rail
from making.decks.spice import run
from making.limits import faults, worst

WHOLE = circuit.load()
GATE_LEAST_V = WHOLE["Q4"].type.bounds("vgt")[0]
SLOW = {
    "U9": WHOLE["U9"].type.bounds("vref")[2],
    "R9": worst.ohm(WHOLE, "R9", 1),
    "R24": worst.ohm(WHOLE, "R24", -1),
    "R28": worst.ohm(WHOLE, "R28", -1),
    "Q4": WHOLE["Q4"].type.bounds("igt")[2],
}
"""A crowbar that fires as late as its parts may."""
EAGER = {
    "U1": 1.25 * worst.rail_set(WHOLE, 1) / worst.rail_set(WHOLE, 0),
    "U9": WHOLE["U9"].type.bounds("vref")[0],
    "R9": worst.ohm(WHOLE, "R9", -1),
    "R24": worst.ohm(WHOLE, "R24", 1),
    "R28": worst.ohm(WHOLE, "R28", 1),
    "Q4": WHOLE["Q4"].type.bounds("igt")[0],
}
"""The highest rail of good parts, and a crowbar that fires as early as its parts may."""


@pytest.mark.parametrize("supply_v", [18.0, 32.0])
@pytest.mark.parametrize("joint", ["U1.adj", "R2.1"])
def test_an_open_joint_at_the_regulator_takes_the_coil_supply_away_before_a_chip_is_harmed(
    joint: str, supply_v: float
) -> None:
    """Without Q4 the rail would go to 15 V and more. Above 6.0 V (ATmega328P, absolute) for microseconds only."""
    seen = run(rail.rail(WHOLE, supply_v, joint, values=SLOW))
    assert seen["peak_v"] < 6.5
    assert seen["over_s"] < 20e-6
    assert seen["after_v"] < 2.0
    assert seen["rail_v"] < 1.5, "the coil supply is gone too"
    assert seen["supply_a"] > WHOLE["F1"].type.number("trip_40c_a"), "F1 opens"


def test_the_highest_good_rail_does_not_fire_it_also_when_the_supply_is_plugged_in() -> None:
    seen = run(rail.rail(WHOLE, 32.0, load_a=0.005, values=EAGER))
    assert seen["before_v"] == pytest.approx(worst.rail_set(WHOLE, 1), abs=0.02)
    assert seen["plugged_v"] < 5.4
    assert seen["plugged_gate_v"] < GATE_LEAST_V / 2
    assert seen["rail_v"] > 30.0


def test_no_clamp_can_push_enough_into_the_rail_to_fire_it() -> None:
    least, most = worst.fire_a(WHOLE)
    pushed = {row.case: row.worst for row in faults.table(WHOLE) if (row.ref, row.what) == ("U9", "amps")}
    own = pushed.pop(faults.regulator_unset(WHOLE).name)
    assert max(pushed.values()) < least < most == own


def test_u1_gives_what_fires_it_at_either_supply_with_all_loads_on_the_rail() -> None:
    """Its own limit is at least 1.5 A up to 15 V across it and 0.15 A at 40 V (data sheet), here on a straight line."""
    across = worst.SUPPLY_MOST_V - worst.rail_limit(WHOLE, -1)
    least = 1.5 - (1.5 - 0.15) * (across - 15) / 25
    assert least > worst.fire_a(WHOLE)[1] + sum(worst.rail_loads(WHOLE).values())


def test_the_thyristor_bears_what_c1_holds() -> None:
    """Squared amps times seconds of a capacitor that empties through its own resistance."""
    c1 = WHOLE["C1"].type
    surge = c1.number("farad") * 1.2 * worst.SUPPLY_MOST_V**2 / 2 / c1.number("esr")
    assert surge < 0.1 * WHOLE["Q4"].type.number("i2t")
