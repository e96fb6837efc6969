"""The decision table behind a socket: every combination of leg states, and what it says of the vehicles in stock."""

import random
from itertools import product
from typing import get_args

import pytest

from pulldrop.judge.socket.legs import GROUND
from pulldrop.judge.socket.roles import by_look, first_looks, roles
from pulldrop.judge.socket.table import ORDER, TABLE, decide_socket, row
from pulldrop.model.vehicle.socket import Look, Seen, SocketFound, State, Value
from pulldrop.plant.vehicle import stock
from pulldrop.plant.vehicle.adapter import looked
from pulldrop.plant.vehicle.elements import Lamp
from pulldrop.plant.vehicle.vehicle import Vehicle
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

STATES = get_args(State)
WATTS = {
    "heritage-bus-12": 31,
    "depot-van-3": 110,
    "recovery-truck-8": 110,
    "minibus-5": 42,
    "tipper-2": 140,
    "coach-21": 80,
    "touring-coach-7": 20,
}
LIT = {"recovery-truck-8": ("light switch", "side")}


def car(name: str, sound: bool = False) -> Vehicle:
    one = fit(parse(stock.text(name), name), Vehicle)
    return one.model_copy(update={"fault": None}) if sound else one


def seen_by(one: Vehicle, looks: tuple[Look, ...], lit: tuple[str, str] | None = None) -> list[Seen]:
    """Looks at a vehicle with errors of a few millivolts."""
    rng = random.Random(one.title)
    found = []
    for look in looks:
        positions = (one.socket.works if look.worked else {}) | ({lit[0]: lit[1]} if lit and look.lit else {})
        true = looked(one, look.cavity, look.hang, positions)
        noise = [rng.gauss(0, 0.003) for _ in range(2)]
        found.append(
            Seen(
                look=look,
                battery=Value(value=true.battery + noise[0], u=0.005, scatter=0.003),
                volts=Value(value=true.volts + noise[1], u=0.005, scatter=0.003),
                amps=Value(value=true.amps, u=0.01 * true.amps + 1e-4),
            )
        )
    return found


def decided(name: str, sound: bool = False, heavier: float = 1.0, look_lit: bool = True) -> SocketFound:
    """`heavier`: times the watts of its side and tail lamps; `look_lit`: the ground is looked at again with them on."""
    one = car(name, sound)
    elements = tuple(
        each.model_copy(update={"watts": each.watts * heavier}) if isinstance(each, Lamp) and "side" in each.a else each
        for each in one.elements
    )
    one = one.model_copy(update={"elements": elements})
    lit = LIT.get(name) if look_lit else None
    seen = seen_by(one, first_looks())
    found = roles(by_look(seen))
    further = [Look(cavity=found.feed, hang=hang, worked=True) for hang in ("1 A down", "5 A down", "joined")]
    if lit:
        further.append(Look(cavity=found.ground, hang="coil up", worked=True, lit=lit[0]))
    seen += seen_by(one, tuple(further), lit)
    names = (lit[0],) if lit else ()
    return decide_socket(seen, 330.0 if one.system_v == 24 else 90.0, names, WATTS[name], float(one.system_v))


@pytest.mark.parametrize("states", list(product(STATES, repeat=4)))
def test_every_combination_names_a_leg_that_is_not_good_or_none_where_all_are(states: tuple[State, ...]) -> None:
    by_leg = dict(zip(ORDER, states, strict=True))
    fit_row = row(by_leg)
    good = ("good", "worth cleaning")
    if fit_row.first is None:
        assert all(state in good for state in states)
    elif "broken" in states:
        assert by_leg[fit_row.first] == "broken" or by_leg[fit_row.first] not in good
    else:
        assert by_leg[fit_row.first] in ("unsure", "not looked at")


@pytest.mark.parametrize("number", range(len(TABLE)))
def test_every_row_is_reached_and_says_where_to_look(number: int) -> None:
    reached = {TABLE.index(row(dict(zip(ORDER, states, strict=True)))) for states in product(STATES, repeat=4)}
    assert number in reached
    one = TABLE[number]
    assert one.next.endswith(".") and one.said[0].islower()


def test_a_broken_leg_comes_before_one_that_is_not_settled() -> None:
    assert row({"feed": "not looked at", "ground": "broken", "trigger": "good", "load": "good"}).first == "ground"
    assert row({"feed": "unsure", "ground": "good", "trigger": "broken", "load": "good"}).first == "trigger"


@pytest.mark.parametrize("name", stock.names())
def test_the_fault_of_each_vehicle_in_stock_is_found(name: str) -> None:
    one = car(name)
    found = decided(name)
    assert found.first == (one.fault.leg if one.fault else None), [leg.why for leg in found.legs]
    assert found.low_side == one.socket.low_side


@pytest.mark.parametrize("name", stock.names())
def test_a_sound_vehicle_has_nothing_to_mend(name: str) -> None:
    found = decided(name, sound=True)
    assert found.first is None, [leg.why for leg in found.legs]
    assert ("lamps in the ground's way are not excluded" in found.said) == (name not in LIT and not found.low_side)


def test_a_lamp_as_ground_passes_until_it_is_lit() -> None:
    """Side and tail lamps of 200 W drop 0.1 V at the coil's current while they are dark."""
    dark = decided("recovery-truck-8", heavier=6, look_lit=False)
    assert dark.first is None
    assert "lamps in the ground's way are not excluded" in dark.said
    lit = decided("recovery-truck-8", heavier=6)
    ground = next(leg for leg in lit.legs if leg.leg == "ground")
    assert lit.first == "ground" and ground.state == "broken"
    assert "only while light switch is on" in ground.why


def test_a_trickle_of_12_v_is_no_trigger() -> None:
    trigger = next(leg for leg in decided("minibus-5").legs if leg.leg == "trigger")
    assert trigger.state == "broken"


def test_a_module_is_never_loaded_with_more_than_the_dummy_coil() -> None:
    assert {look.hang for look in first_looks() if look.cavity in ("85", "86")} == {
        "nothing", "1 kohm down", "1 kohm up", "coil down", "coil up"
    }  # fmt: skip


def test_a_look_that_is_missing_is_named() -> None:
    seen = seen_by(car("depot-van-3"), first_looks()[1:-1])
    with pytest.raises(KeyError):
        decide_socket(seen, 90.0)


def test_limits_of_a_24_v_vehicle_are_twice_as_high() -> None:
    why = {
        name: next(leg.why for leg in decided(name, sound=True).legs if leg.leg == "ground")
        for name in ("coach-21", "depot-van-3")
    }
    assert f"above {2 * GROUND.dead:g} V" in why["coach-21"]
    assert f"above {GROUND.dead:g} V" in why["depot-van-3"]
