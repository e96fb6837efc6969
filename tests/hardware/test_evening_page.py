"""The page of the evening build tells the volts of its first power-up as ngspice has them, and names what exists."""

import re
from dataclasses import replace

import pytest
from making import circuit
from making.copper import onboard
from making.decks.spice import node, run
from making.evening import pulse, states

WHOLE = circuit.load("evening")
BOARD = onboard.build(circuit.listed("evening/board.yaml"))
NETS = onboard.nets_of(WHOLE, BOARD)
PAGE = (circuit.FOLDER / "evening/README.md").read_text("utf-8")
STEP = re.compile(r"^\*\*(\d+)\. (.*?)(?=^\*\*\d+\. |^## )", re.M | re.S)
STEPS = {int(number): text for number, text in STEP.findall(PAGE.partition("## First power-up")[2] + "\n## ")}
ROW = re.compile(r"^\| ([^|]+?) \| (\w+) \| ([^|]+?) \|$", re.M)
SOCKETS = ("U2", "U5", "U6", "U7", "U8")
TOUCH = ("rtouch load_fused lamp 4.7k",)


def rows(step: int) -> list[tuple[str, str, str]]:
    return [row for row in ROW.findall(STEPS[step]) if row[0] != "place"]


def ends(told: str, battery_v: float) -> tuple[float, float]:
    """'B - 0.4 to B + 0.1 V' in volts; B alone is the battery within 0.1 V."""
    if told == "B":
        return battery_v - 0.1, battery_v + 0.1
    least, most = (eval(one.replace("B", str(battery_v))) for one in told.removesuffix(" V").split(" to "))
    return float(least), float(most)


def holds(net: str, told: str, state: states.State, more: tuple[str, ...], out: tuple[str, ...], home: str) -> None:
    deck = states.whole(WHOLE, state, (*more, f".meas tran it find par('v({node(net)})-v({home})') at=3.9m"), out=out)
    least, most = ends(told, state.battery_v)
    assert least <= run(deck.replace("-v(0)", ""))["it"] <= most, (net, told)


def at_place(place: str, net: str) -> bool:
    """Whether the hole or pin that a row names is on its net."""
    if found := re.match(r"(\d+)-(\d+)", place):
        return NETS[BOARD.segment((int(found[1]), int(found[2])))] == net
    ref, pin = place.split()[:2]
    return WHOLE[ref].net(pin) == net


@pytest.mark.parametrize("step", [2, 4, 6])
def test_every_place_of_the_power_up_is_on_the_net_beside_it_and_free_to_touch(step: int) -> None:
    assert len(rows(step)) >= 4
    under = {hole for holes in onboard.bodies(WHOLE, BOARD).values() for hole in holes}
    told = re.findall(r"\b(\d+)-(\d+)\b", STEPS[step])
    assert {(int(strip), int(hole)) for strip, hole in told} & under == set()
    for place, net, _ in rows(step):
        assert at_place(place, net), place


@pytest.mark.parametrize("battery_v", [11.5, 12.6, 14.0])
@pytest.mark.parametrize("step", [2, 4])
def test_the_volts_on_the_battery_are_those_of_the_page(step: int, battery_v: float) -> None:
    for place, net, told in rows(step):
        knob = {"left": 0.0, "right": 1.0}.get(place.rsplit(" ", 1)[-1]) if "knob" in place else None
        state = states.at("rest", battery_v=battery_v, knob=knob)
        holds(net, told, state, TOUCH if step == 4 else (), SOCKETS, "load_minus")


@pytest.mark.parametrize(("battery_v", "share"), [(11.5, 1.05), (14.0, 0.95)])
def test_the_amps_of_the_first_load_are_those_of_the_page(battery_v: float, share: float) -> None:
    """Also a resistor of 5 % more or less, with a supply of 11.5 to 14 V and 2 m of leads (16 mohm)."""
    told = re.search(r"([\d.]+) to ([\d.]+) A flow", STEPS[10])
    assert told
    r56 = replace(
        WHOLE["R56"], type=replace(WHOLE["R56"].type, figures={**WHOLE["R56"].type.figures, "ohm": 1.2 * share})
    )
    changed = replace(WHOLE, parts={**WHOLE.parts, "R56": r56})
    for state in ("load, link in 30 and 87", "load, link in 30 and 87a"):
        amps = states.seen(changed, states.at(state, battery_v=battery_v))["load_a"]
        assert float(told[1]) <= amps <= float(told[2])


@pytest.mark.parametrize("usb_v", [4.75, 5.25])
def test_the_volts_on_usb_are_those_of_the_page(usb_v: float) -> None:
    for place, net, told in rows(6):
        state = states.at("rest", battery_v=0.0, usb_v=usb_v, stop="pressed" in place)
        holds(net, told, state, (), ("U5", "U7"), "0")


@pytest.mark.parametrize(("throw", "hold", "gate"), [("no", "5-42", "11-57"), ("nc", "4-42", "10-57")])
def test_the_pulse_limit_by_hand_reads_what_the_page_says(throw: str, hold: str, gate: str) -> None:
    """4.4 to 4.8 V of three cells, through 1 kohm."""
    assert hold in STEPS[5] and gate in STEPS[5]
    assert at_place(hold, f"throw_{throw}") and at_place(gate, f"gate_{throw}")
    for cells_v in (4.4, 4.8):
        got = run(pulse.pulse_limit(WHOLE, throw, cells_v, pin_ohm=1000.0))
        assert got["on_v"] > 4.0 and got["off_v"] < 0.7 and 0.54 < got["on_s"] < 0.88


def test_what_a6_reads_is_the_share_of_the_battery_that_the_page_says() -> None:
    assert "13-30 reads 0.20 to 0.22 of B" in PAGE
    for battery_v in (11.5, 14.0):
        assert 0.20 < states.seen(WHOLE, states.at("rest", battery_v=battery_v))["load_supply"] / battery_v < 0.22


def test_through_the_bulb_a_pulse_gives_what_the_page_says() -> None:
    """21 W hot: 12 V, 1.75 A, 6.9 ohm. In place of the fuse it would take K1's volts away, as the page says."""
    assert "1.4 to 1.8 A flow" in PAGE and "K1 would drop out" in PAGE
    pulse = states.whole(WHOLE, states.at("load, link in 30 and 87"))
    before = WHOLE["R56"].type.number("ohm")
    assert f"rr56 load load_bus {before:.8g}" in pulse and "rf2 load_in load_fused 0.005" in pulse
    got = run(pulse.replace(f"rr56 load load_bus {before:.8g}", f"rr56 load load_bus {before + 6.5}"))
    assert 1.4 < got["load_a"] < 1.8 and got["k1_v"] > 11
    assert run(pulse.replace("rf2 load_in load_fused 0.005", "rf2 load_in load_fused 6.5"))["k1_v"] < 8


def test_without_supplies_the_meter_reads_what_the_page_says() -> None:
    """A volt between two places, circuits out of their sockets: the ohms between them."""
    for one, other, least, most, wire in (
        ("v5", "gnd", 500.0, 1e6, 0), ("gnd", "load_minus", 0.0, 1.0, 0), ("gnd", "load_minus", 100e3, 1e9, 21),
        ("load_fused", "load_minus", 5e3, 1e9, 0),
    ):  # fmt: skip
        whole = onboard.without(WHOLE, BOARD, wire) if wire else WHOLE
        state = states.at("rest", battery_v=0.0)
        more = (
            f"vmeter {node(one)} meter_x 0.2",
            f"rmeter meter_x {node(other)} 1m",
            ".meas tran it find i(vmeter) at=3.9m",
        )
        amps = abs(run(states.whole(whole, state, more, out=SOCKETS))["it"])
        assert least <= 0.2 / max(amps, 1e-12) - 1e-3 <= most, (one, other, wire)


def test_the_page_names_only_parts_that_exist_with_their_values() -> None:
    full = circuit.load()
    named = set(re.findall(r"\b(?:[RCDQUKFJSP]|TH|TS)\d{1,3}\b", PAGE.partition("## From here")[0]))
    assert named - set(WHOLE.parts) == {"R100", "R010", "R002"}, "marks on modules"
    later = set(re.findall(r"\b(?:[RCDQUKFJSZP])\d{1,3}\b", PAGE.partition("## From here")[2]))
    assert later - set(WHOLE.parts) - set(full.parts) == set()
    for ref, value in re.findall(r"\b(R\d+|C\d+) \(([\d.]+ ?[a-zA-Z]*)", PAGE):
        assert value.replace("ohm", "").strip() == WHOLE[ref].type.value.strip(), ref


def test_the_page_has_the_pins_of_the_modules_as_they_stand_on_the_board() -> None:
    for ref, row in (
        ("U7", r"\| ADS1115 \(U7\), hole (\d+) \|(.*)\|"),
        ("U5", r"\| INA226 \(U5\), hole (\d+) \|(.*)\|"),
    ):
        found = re.search(row, PAGE)
        assert found
        told = {strip: name.strip() for strip, name in enumerate(found[2].split("|"), 5) if name.strip()}
        legs = {hole: WHOLE[ref].type.leg(pin) for (one, pin), hole in BOARD.legs.items() if one == ref}
        legs |= {hole: pin for (one, pin), hole in BOARD.unused.items() if one == ref}
        assert {(strip, int(found[1])): name for strip, name in told.items()} == legs


def test_the_page_shows_every_drawing_and_leaves_places_for_photographs() -> None:
    shown = set(re.findall(r"drawings/(\w+\.svg)", PAGE))
    assert shown == {path.name for path in (circuit.FOLDER / "evening/drawings").glob("*.svg")}
    assert PAGE.count("*Photograph") >= 3
