"""What the virtual relay does by itself: nothing here is written in the plant, all of it follows from its springs,
masses and flux."""

from itertools import pairwise

import pytest
from plant_steps import BASES, drop_out, held, make_and_break, pull_in, specimen

from pulldrop.plant.relay.relay import NC, NO, RelayModel
from pulldrop.plant.specimen import parts


@pytest.mark.parametrize("base", BASES)
def test_thresholds_are_those_usual_for_the_class(base: str) -> None:
    part = specimen(base=base)
    assert 0.50 <= pull_in(part)[0] / part.nominal_v <= 0.65
    assert 0.15 <= drop_out(part) / part.nominal_v <= 0.40


@pytest.mark.parametrize("base", BASES)
def test_times_are_those_usual_for_the_class(base: str) -> None:
    part = specimen(base=base)
    volts = 13.5 * part.nominal_v / 12
    made, broke, _ = make_and_break(part, volts)
    _, slow, _ = make_and_break(part, volts, diode=True)
    contact, closed = (NC, True) if part.form == "C" else (NO, False)
    release, slow_release = broke.first(contact, closed), slow.first(contact, closed)
    assert release and slow_release
    assert 3.0 <= made.operate_ms <= 7.0
    assert 1.2 <= release <= 3.0
    assert 5.0 <= slow_release <= 10.0
    assert 0.3 <= made.bounce_ms(NO) <= 2.0


@pytest.mark.parametrize("base", [base for base in BASES if "changeover" in base])
def test_a_changeover_relay_opens_nc_flies_and_closes_no_and_both_bounce(base: str) -> None:
    part = specimen(base=base)
    made, broke, _ = make_and_break(part, 13.5 * part.nominal_v / 12)
    assert 0.3 <= made.transfer_ms <= 2.0
    assert 0.5 <= broke.bounce_ms(NC) <= 3.0
    opened = broke.first(NO, False)
    reclosed = broke.first(NC, True)
    assert opened and reclosed and opened < reclosed


def test_a_4_terminal_relay_has_no_normally_closed_throw() -> None:
    made, broke, bench = make_and_break(specimen(base="mini_12v_normally_open"))
    assert bench.closed() == 0
    assert {edge.throw for edge in made.edges + broke.edges} == {NO}


def test_the_coil_current_dips_as_the_armature_moves() -> None:
    relay = RelayModel(parts(specimen()), 23.0)
    relay.drive(13.5, switch=True, diode=False)
    trace = []
    while relay.t < 0.05:
        relay.advance(relay.t + 50e-6)
        trace.append(relay.i)
    falls = [before - after for before, after in pairwise(trace) if after < before]
    assert sum(falls) > 0.05 * trace[-1]


def test_a_stuck_armature_shows_no_dip_and_no_edges() -> None:
    relay = RelayModel(parts(specimen(faults={"stuck": "at rest"}, coil={"heating_k_per_w": 0.0})), 23.0)
    relay.drive(13.5, switch=True, diode=False)
    last = 0.0
    while relay.t < 0.05:
        assert relay.advance(relay.t + 50e-6) == []
        assert relay.i >= last - 1e-9
        last = relay.i
    assert last > 0.14


def test_more_volts_operate_faster_and_fewer_release_faster() -> None:
    operate, release = [], []
    for volts in (9.0, 12.0, 15.0):
        made, broke, _ = make_and_break(specimen(), volts, diode=True)
        operate.append(made.operate_ms)
        release.append(broke.opening_ms)
    assert operate == sorted(operate, reverse=True)
    assert release == sorted(release)


def test_a_hot_coil_pulls_in_at_a_higher_voltage_but_the_same_current() -> None:
    cold, hot = pull_in(specimen(), 20.0), pull_in(specimen(), 80.0)
    assert hot[0] / cold[0] == pytest.approx((234.5 + 80) / (234.5 + 20), rel=0.01)
    assert hot[1] == pytest.approx(cold[1], rel=0.01)


def test_release_grows_from_none_through_diode_and_zener_and_falling_resistors_to_a_diode() -> None:
    suppressions = [
        {"kind": "none"},
        {"kind": "diode_zener", "zener_v": 24.0},
        {"kind": "resistor", "resistor_ohm": 470.0},
        {"kind": "resistor", "resistor_ohm": 220.0},
        {"kind": "resistor", "resistor_ohm": 82.0},
        {"kind": "diode"},
    ]
    times = [make_and_break(specimen(suppression=one))[1].opening_ms for one in suppressions]
    assert times == sorted(times)
    assert times[-1] > 3 * times[0]


def test_a_weak_return_spring_drops_out_late_presses_nc_less_and_releases_slower() -> None:
    sound, weak = specimen(), specimen(faults={"return_spring_percent": 25})
    assert drop_out(weak) < 0.6 * drop_out(sound)
    assert RelayModel(parts(weak), 20.0).force[NC] < RelayModel(parts(sound), 20.0).force[NC]
    assert make_and_break(weak)[1].opening_ms > make_and_break(sound)[1].opening_ms


def test_shorted_turns_take_more_current_at_pull_in_and_release_slower() -> None:
    sound, shorted = specimen(), specimen(faults={"shorted_turns_percent": 25})
    assert pull_in(shorted)[1] > 1.2 * pull_in(sound)[1]
    assert make_and_break(shorted)[1].opening_ms > make_and_break(sound)[1].opening_ms
    assert held(shorted, 10.0).relay.i > 1.25 * held(sound, 10.0).relay.i


def test_a_rusty_hinge_operates_late() -> None:
    rusty = specimen(faults={"extra_friction_n": 0.7})
    assert make_and_break(rusty)[0].operate_ms > 1.2 * make_and_break(specimen())[0].operate_ms


def test_magnetised_iron_holds_the_armature_at_a_lower_voltage() -> None:
    assert drop_out(specimen(coil={"residual_mmf_a": 20.0})) < drop_out(specimen()) - 0.5


def test_a_springy_contact_bounces_longer() -> None:
    lively = specimen(armature={"contact_damping_s_per_m": 0.1})
    assert make_and_break(lively)[0].bounce_ms(NO) > 1.5 * make_and_break(specimen())[0].bounce_ms(NO)


def test_a_coil_that_heats_itself_takes_less_current_after_half_a_minute() -> None:
    bench = held(specimen(coil={"heating_k_per_w": 45.0, "heating_s": 6.0}), 13.5)
    cold = bench.relay.i
    bench.advance(30.0)
    assert bench.relay.rise_k > 50
    assert bench.relay.i < 0.85 * cold
