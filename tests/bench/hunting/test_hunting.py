"""Hunts by a person who slips keep to what one person can do, and the campaign counts what is false."""

import random
from dataclasses import replace

import hunt
import pytest
from drawn import Circuit, Vehicle, draw_circuit
from played import named
from someone import Someone

from pulldrop.hunt.proof import LeadingRule
from pulldrop.hunt.session import Hunt
from pulldrop.model.hunt.control import Precautions, key, latching, momentary
from pulldrop.model.hunt.look import WireLevel
from pulldrop.model.hunt.outcome import Grade

CABIN = (key(), latching("lights"), momentary("bell push"))
SHAPE = draw_circuit(1, 4, "trial").shape


def circuit(*paths: dict[int, set[int]], **more: object) -> Circuit:
    terms = tuple(tuple((control, frozenset(closed)) for control, closed in path.items()) for path in paths)
    return Circuit(CABIN, Precautions(), terms, SHAPE, **more)  # type: ignore[arg-type]


def careful(made: Circuit) -> Someone:
    return Someone(Vehicle(made, random.Random(1)), random.Random(2), careful=True)


def test_a_wire_with_delays_comes_and_goes_late() -> None:
    vehicle = Vehicle(circuit({1: {1}}, on_s=2.0, off_s=10.0), random.Random(1))
    vehicle.put(1, 1)
    assert vehicle.look(0, 1.5, 31).level is WireLevel.OPEN
    rose = vehicle.look(0, 1.0, 31)
    assert rose.level is WireLevel.ON and rose.rose_s == pytest.approx(0.5)
    vehicle.put(1, 0)
    assert vehicle.look(0, 1.0, 5.0).level is WireLevel.ON
    fell = vehicle.look(0, 1.0, 31.0)
    assert fell.level is WireLevel.OPEN and fell.fell_s == pytest.approx(5.0)


def test_a_slip_stays_until_the_control_is_named_again() -> None:
    person = Someone(Vehicle(circuit({1: {1}}), random.Random(1)), random.Random(3))
    slipped = 0
    for _ in range(600):
        person.does([(1, 1)], 0.5, 0.5, 0.5)
        slipped += person.vehicle.positions[1] == 0
        person.vehicle.put(1, 0)
        assert person.slips >= slipped
    assert 0.015 < slipped / 600 < 0.045 and person.slips > slipped


@pytest.mark.parametrize(
    ("claimed", "wrong"),
    [([{1: {1}}], 0), ([{0: {2}, 1: {1}}], 0), ([{0: {1, 2}, 1: {1}}], 1), ([{2: {1}}], 1)],
    ids=["right", "two conditions", "an edge too many", "another control"],
)
def test_a_false_path_is_counted(claimed: list[dict[int, set[int]]], wrong: int) -> None:
    made = circuit({0: {2}, 1: {1}}) if 0 in claimed[0] else circuit({1: {1}})
    found = Hunt(CABIN)
    literals = [one for one in found.language.literals if one.control in claimed[0]]
    chosen = [one for one in literals if set(one.positions) == claimed[0][one.control]]
    path = found.language.find(chosen)
    assert path is not None
    planted = hunt.Leader(LeadingRule((path,)), 1.0, ())
    assert hunt.false_paths(made, found, planted) == wrong


def test_three_ways_that_were_all_seen_fit_no_rule_of_the_language() -> None:
    controls = (key(), *(latching(f"switch {i}") for i in range(3)))
    three = replace(circuit({1: {1}}, {2: {1}}, {3: {1}}), controls=controls)
    found = Hunt(controls)
    person = careful(three)
    while (ask := found.next_step()) is not None and found.record.steps < 6:
        if hasattr(ask, "moves"):
            found.seen(person.does(found.space.numbered(ask.moves), ask.pace_s, ask.wait_s, ask.fall_s))
        else:
            found.read_back(person.reads())
    for goal in ([0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1], [0, 0, 0, 0]):
        moves = found.space.named(found.space.route(found.record.state, [found.space.at_rest + goal]))
        found.did_something_else(moves, person.does(found.space.numbered(moves), 0.5, 0.5, 0.5))
    assert not hunt.fits_language(three, found)
    assert hunt.fits_language(replace(three, paths=three.paths[:2]), found)


@pytest.mark.slow
@pytest.mark.parametrize("world", ["trial", "fuller", "other"])
def test_most_hunts_end_right_and_no_proved_path_is_false(world: hunt.World) -> None:
    lines = [hunt.hunt(seed, 4, world) for seed in range(50, 74)]
    assert sum(one.right for one in lines) >= 19
    assert not any(one.false_paths or one.impossible for one in lines)
    assert sum(one.grade is Grade.PROVED for one in lines) >= 12


def test_a_control_that_was_played_with_is_named() -> None:
    assert sum(named(seed, 8) for seed in range(50, 62)) >= 10
