"""The contact side in ngspice: branches, four-wire sense, pulse limit, lock-out, a part with another layout."""

import re
from pathlib import Path

import pytest
from making import circuit
from making.decks import blocks
from making.decks.spice import run
from making.limits import stress, worst
from making.limits.budget import DRAWS, Draw

WHOLE = circuit.load()
BRANCH_A = {"branch_1a": 1.0, "branch_5a": 5.0, "branch_10a": 10.0, "branch_20a": 20.0}


def duty(name: str) -> int:
    """A figure of firmware/core/safety/duty.c."""
    text = (Path(__file__).parents[2] / "firmware/core/safety/duty.c").read_text()
    found = re.search(rf"#define {name} (\d+)", text)
    assert found, name
    return int(found[1])


RECENT_S = (duty("RECENT_SLOTS") - 1) * duty("SLOT_MS") / 1000
"""In any time of this length the board gives RECENT_MS of load in pulses."""


@pytest.mark.parametrize("pin", BRANCH_A)
def test_a_branch_gives_its_current_within_an_eighth(pin: str) -> None:
    seen = run(blocks.branch(WHOLE, [pin, "gate_no"], 0.005))
    assert 0.875 * BRANCH_A[pin] < seen["load_a"] <= BRANCH_A[pin]


def test_the_weakest_switches_carry_the_20_a_branch_on_a_low_rail() -> None:
    """Highest threshold of the data sheet at all six, rail at its least."""
    _, typical, most = WHOLE["Q15"].type.bounds("vth")
    weak = blocks.branch(WHOLE, ["branch_20a", "gate_no"], 0.01, vcc=4.8).replace(f"vto={typical} ", f"vto={most} ")
    seen = run(weak)
    assert seen["load_a"] > 0.85 * 20
    assert seen["q15_w"] < 15


@pytest.mark.parametrize("contact_ohm", [0.001, 0.005, 0.02])
def test_leads_do_not_count_in_the_drop(contact_ohm: float) -> None:
    """20 mohm of lead on each side carry the load; the sense wires see the blades alone, less the input's load."""
    seen = run(blocks.branch(WHOLE, ["branch_10a", "gate_no"], contact_ohm))
    assert seen["sensed_v"] == pytest.approx(seen["drop_v"], rel=0.0020, abs=20e-6)
    assert seen["sensed_v"] < seen["drop_v"]


def test_the_shunt_reads_the_current_that_flows() -> None:
    seen = run(blocks.branch(WHOLE, ["branch_20a", "gate_no"], 0.005))
    assert seen["shunt_v"] == pytest.approx(0.005 * seen["load_a"], rel=0.001)
    assert seen["shunt_v"] < 0.256


def test_a_burnt_contact_turns_its_own_switch_down() -> None:
    """Neither the sense nor the scan ever sees the battery, and no switch takes more than it bears."""
    burnt = run(blocks.branch(WHOLE, ["branch_20a", "gate_no"], 0.3, battery_v=14.8))
    opened = run(blocks.branch(WHOLE, ["branch_20a", "gate_no"], 1e5, battery_v=14.8))
    assert opened["throw_v"] < 4.3
    assert burnt["throw_v"] < 4.3
    assert burnt["q15_w"] < (175 - 60) / WHOLE["Q15"].type.number("pulse_rth")


def test_no_branch_no_current() -> None:
    assert abs(run(blocks.branch(WHOLE, ["gate_no"], 0.005))["load_a"]) < 1e-3
    assert abs(run(blocks.branch(WHOLE, ["branch_20a"], 0.005))["load_a"]) < 1e-3


def test_a_stuck_throw_pin_is_cut_in_hardware_and_stays_cut() -> None:
    seen = run(blocks.pulse_limit(WHOLE))
    assert seen["on_v"] > 4.9
    least, most = worst.pulse_cut(WHOLE)
    assert least < seen["cut_s"] - 0.1 < most
    assert seen["held_v"] < WHOLE["Q16"].type.bounds("vth")[0]
    assert seen["again_v"] > 4.9, "after a rest the next pulse is whole"


def test_no_bench_cuts_a_pulse_that_the_firmware_allows() -> None:
    """The ends of the tolerances of R76, C40 and U8's threshold; the board ends a pulse after 0.5 s and 0.6 %."""
    least, most = worst.pulse_cut(WHOLE)
    assert least > 1.006 * stress.FIRMWARE_S
    for sign, vcc in ((-1, worst.rail_set(WHOLE, 1)), (1, worst.USB_LEAST_V)):
        c40, threshold = WHOLE["C40"].type, WHOLE["U8"].type.bounds("vth")[1 + sign]
        values = {"R76": worst.ohm(WHOLE, "R76", sign), "C40": c40.number("farad") * (1 + c40.number("tol") * sign)}
        cut_s = run(blocks.pulse_limit(WHOLE, {**values, "U8": threshold}, vcc))["cut_s"] - 0.1
        assert least < cut_s < most
        assert cut_s == pytest.approx(least if sign < 0 else most, rel=0.04)


@pytest.mark.parametrize(("rest_s", "whole"), [(0.05, False), (RECENT_S - duty("RECENT_MS") / 1000, True)])
def test_a_second_pulse_is_whole_after_the_rest_that_the_firmware_asks_for(rest_s: float, whole: bool) -> None:
    """C40 empties through D47 and R75; at the ends of the tolerances that cut soonest."""
    c40, vcc = WHOLE["C40"].type, worst.rail_set(WHOLE, 1)
    values = {
        "R76": worst.ohm(WHOLE, "R76", -1),
        "C40": c40.number("farad") * (1 - c40.number("tol")),
        "R75": worst.ohm(WHOLE, "R75", 1),
        "U8": WHOLE["U8"].type.bounds("vth")[0],
    }
    assert (blocks.second_pulse(WHOLE, values, vcc, rest_s) > 1.006 * stress.FIRMWARE_S) == whole


def test_without_d47_a_second_pulse_is_cut_sooner_and_never_later(monkeypatch: pytest.MonkeyPatch) -> None:
    """Why `self-test --link` looks at one pulse only: an open D47 errs to the safe side."""
    whole_s = blocks.second_pulse(WHOLE, {}, 5.0, 0.25)
    monkeypatch.setattr(blocks, "PULSE", [ref for ref in blocks.PULSE if ref != "D47"])
    assert 0.3 < blocks.second_pulse(WHOLE, {}, 5.0, 0.25) < 0.5 < whole_s


def test_the_lock_out_takes_12_v_and_refuses_24_v_and_a_reversed_battery() -> None:
    seen = run(blocks.lock_out(WHOLE))
    assert seen["at12_v"] > 10.0
    assert abs(seen["at24_v"]) < 0.5
    assert abs(seen["reversed_a"]) < 1e-3
    low, high = worst.lockout(WHOLE)
    assert low < seen["open_s"] - 15 < high


def test_coil_volts_on_a_contact_harm_nothing() -> None:
    seen = run(blocks.wrong_part(WHOLE))
    assert seen["rail_v"] < worst.rail_limit(WHOLE, 1)
    assert seen["ads_a"] < 0.010
    assert seen["edge_a"] < 0.001
    assert abs(seen["gate_a"]) < 0.020
    assert abs(seen["gate_v"]) < 0.8 * WHOLE["Q17"].type.number("vgs"), "Z7 holds it, either way round"
    assert abs(seen["dry_a"]) < 1e-4, "D34 keeps the dry source's pin out of it"


def test_the_current_limit_of_all_benches_lies_where_the_table_says() -> None:
    low, high = worst.coil_limit(WHOLE)
    draw = Draw(WHOLE)
    least, _, most = WHOLE["Q2"].type.bounds("vbe_30ma")
    amps = draw.between(least, most) / draw.ohm("R14")
    assert len(amps) == DRAWS
    assert low <= amps.min() and amps.max() <= high


def test_the_limiter_of_the_5_v_rail_takes_nothing_in_use() -> None:
    """Neither at 5 V nor at the most that the guide allows, also where all its tolerances meet; at 100 mA it holds."""
    kind = WHOLE["U9"].type
    weak = {"U9": kind.bounds("vref")[0], "R9": worst.ohm(WHOLE, "R9", -1), "R24": worst.ohm(WHOLE, "R24", 1)}
    strong = {"U9": kind.bounds("vref")[2], "R9": worst.ohm(WHOLE, "R9", 1), "R24": worst.ohm(WHOLE, "R24", -1)}
    assert run(blocks.rail_limit(WHOLE, weak))["most_a"] < 1e-3
    assert run(blocks.rail_limit(WHOLE, strong))["held_v"] < worst.rail_limit(WHOLE, 1, 0.1) + 0.02
    assert worst.rail_limit(WHOLE, 1, 0.1) < 6.0, "what the Nano's chip bears"


def test_a_contact_that_opens_under_20_a_lets_87_rise_for_some_microseconds() -> None:
    """By its arc; the sense inputs are clamped meanwhile (ADS1115: 100 mA for a moment, from memory)."""
    seen = run(blocks.opening(WHOLE))
    assert 6.0 < seen["peak_v"] < 25.0
    assert seen["long_s"] < 30e-6
    assert seen["after_v"] < 4.3
    assert seen["pin_a"] < 0.100


def test_a_zener_below_its_test_current_stands_at_fewer_volts() -> None:
    """Why the lock-out's lower end is reckoned with Z1's knee: it opens K1 at some 60 uA."""
    low, high = worst.lockout(WHOLE)
    assert high - low > 1.5
    assert low > worst.BATTERY_MOST_V
