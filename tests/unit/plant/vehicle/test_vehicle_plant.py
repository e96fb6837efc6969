"""The vehicles that ship: each comes to rest, has the fault that it says, and its file is refused where it contradicts
itself."""

from dataclasses import replace
from typing import Any

import pytest
import yaml
from pydantic import ValidationError

from pulldrop.plant.vehicle import stock
from pulldrop.plant.vehicle.circuit import solve
from pulldrop.plant.vehicle.elements import Battery, Element, Moment, Ohmic, Output
from pulldrop.plant.vehicle.vehicle import Leg, Vehicle
from pulldrop.text.document import parse
from pulldrop.text.shape import fit


def car(name: str) -> Vehicle:
    return fit(parse(stock.text(name), name), Vehicle)


def ohm(a: str, b: str, ohms: float) -> Ohmic:
    return Ohmic(kind="resistor", name=f"{ohms:g} ohm", a=a, b=b, ohm=ohms)


def coil_v(one: Vehicle, positions: dict[str, str], sound: bool) -> float:
    """Volts that a relay's coil of 90 (24 V: 330) ohm would have."""
    coil = ohm(one.socket.node("trigger"), one.socket.node("ground"), 90 if one.system_v == 12 else 330)
    return abs(
        one.solved(positions, (coil,), sound=sound).between(one.socket.node("trigger"), one.socket.node("ground"))
    )


def load_w(one: Vehicle, sound: bool) -> float:
    """Power that leaves cavity 87 with a good contact to 30."""
    found = one.solved(one.socket.works, (ohm(one.socket.node("feed"), one.socket.node("load"), 0.01),), sound=sound)
    return found.volts[one.socket.node("load")] * found.amps["0.01 ohm"]


@pytest.mark.parametrize("name", stock.names())
def test_a_sound_vehicle_pulls_its_relay_and_feeds_its_load(name: str) -> None:
    one = car(name)
    assert one.invented
    assert coil_v(one, {}, sound=True) < 0.1 * one.system_v, "at rest"
    assert coil_v(one, one.socket.works, sound=True) > 0.9 * one.system_v
    assert load_w(one, sound=True) > 20


@pytest.mark.parametrize("name", [name for name in stock.names() if car(name).fault])
def test_its_fault_kills_the_leg_that_it_names(name: str) -> None:
    one = car(name)
    assert one.fault
    dead: dict[Leg | None, bool] = {
        "feed": load_w(one, sound=False) < 0.5 * load_w(one, sound=True),
        "load": load_w(one, sound=False) < 0.01 * load_w(one, sound=True),
        "ground": coil_v(one, one.socket.works, sound=False) < 0.7 * one.system_v
        or coil_v(one, one.socket.works | {"light switch": "side"}, sound=False) < 0.7 * one.system_v,
        "trigger": coil_v(one, one.socket.works, sound=False) < 0.7 * one.system_v,
    }
    assert dead[one.fault.leg]


def test_a_lamp_as_ground_is_good_while_it_is_dark() -> None:
    one = car("recovery-truck-8")
    assert coil_v(one, {"beacon switch": "on"}, sound=False) > 10.9
    assert coil_v(one, {"beacon switch": "on", "light switch": "side"}, sound=False) < 7


def test_a_trickle_shows_12_v_to_a_meter_and_drives_no_coil() -> None:
    one = car("minibus-5")
    meter = ohm(one.socket.node("trigger"), one.minus, 10e6)
    assert one.solved({"gear": "reverse"}, (meter,)).volts[one.socket.node("trigger")] > 12
    assert coil_v(one, {"gear": "reverse"}, sound=False) < 0.2


def test_an_output_gives_no_more_than_its_limit_and_blinks() -> None:
    feed = Battery(kind="battery", name="battery", a="plus", b="minus", volts=12, ohm=0.01)
    output = Output(kind="output", name="output", a="plus", b="wire", most_a=0.5, hz=2, duty=0.25)
    circuit: tuple[Element, ...] = (feed, output, ohm("wire", "minus", 1))
    assert solve(circuit, "minus", Moment(0.0)).amps["output"] == pytest.approx(0.5, abs=1e-6)
    assert solve(circuit, "minus", Moment(0.13)).volts["wire"] < 0.01
    assert solve(circuit, "minus", replace(Moment(), time_s=0.51)).volts["wire"] == pytest.approx(0.5, abs=1e-6)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda raw: raw["elements"].append(dict(raw["elements"][0])), "two elements are called 'battery'"),
        (lambda raw: raw["elements"].pop(0), "it has no battery"),
        (lambda raw: raw["socket"]["cavities"].update({"30": "nowhere"}), "no element ends at the node 'nowhere'"),
        (lambda raw: raw["elements"][3].update(closed_in=["half"]), "closes in position 'half'"),
        (lambda raw: raw["socket"].update(works={"work lamp switch": "up"}), "works with 'work lamp switch' in 'up'"),
        (lambda raw: raw["fault"].update(changes={"axle": {"ohm": 1}}), "the fault changes 'axle'"),
    ],
)
def test_a_file_that_contradicts_itself_is_refused(change: Any, says: str) -> None:
    raw = yaml.safe_load(stock.text("depot-van-3"))
    change(raw)
    with pytest.raises(ValidationError, match=says):
        Vehicle.model_validate(raw)
