"""A virtual switch: contacts by the angle of its knob, what is in it, and what the scan of either build sees of it."""

import itertools

import pytest
from turned import switch

from pulldrop.board.request_types import Scan
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure.rig.counts.channels import sunk_a
from pulldrop.model.part.pair import Pair
from pulldrop.model.raw import Line
from pulldrop.plant.inserted import Bystander, Inserted
from pulldrop.plant.network import Resistor
from pulldrop.plant.parts.switch import SwitchSpecimen

A, B = Pair("30", "58"), Pair("30", "56")
TWO = {"park": ["30-58"], "head": ["30-56"]}


def touching(specimen: SwitchSpecimen, angle: float) -> set[Pair]:
    """Pairs that touch long after the knob was brought to an angle."""
    contacts = specimen.contacts(1)
    contacts.knob.stroke(1.0, angle, 0.1)
    return set(contacts.touching(5.0))


@pytest.mark.parametrize(("overlap", "between"), [(0.2, {A, B}), (-0.2, set())])
def test_overlap_decides_what_touches_halfway(overlap: float, between: set[Pair]) -> None:
    specimen = switch(positions=TWO, overlap=overlap)
    assert touching(specimen, 0.0) == {A}
    assert touching(specimen, 0.5) == between
    assert touching(specimen, 1.0) == {B}


def test_a_contact_closed_in_neighbours_runs_through_and_one_that_is_not_does_not() -> None:
    specimen = switch(positions={"a": ["30-58"], "b": ["30-58"], "c": [], "d": ["30-58"]})
    assert A in touching(specimen, 0.5)
    assert A not in touching(specimen, 2.0)
    assert A in touching(specimen, 3.0)


def test_a_dead_spot_is_open_only_there() -> None:
    dead = {"dead": [{"pair": "30-58", "low": 0.4, "high": 0.6}]}
    specimen = switch(positions={"a": ["30-58"], "b": ["30-58"], "c": []}, faults=dead)
    assert [A in touching(specimen, at) for at in (0.3, 0.5, 0.7)] == [True, False, True]


def test_a_make_bounces_and_then_rests() -> None:
    specimen = switch(positions={"off": [], "on": ["30-58"]}, bounce_ms=5.0)
    seen = []
    for seed in range(20):
        contacts = specimen.contacts(seed)
        contacts.knob.stroke(1.0, 1.0, 0.02)
        seen.append([bool(contacts.touching(1.0 + i * 1e-4)) for i in range(400)])
    changes = [sum(a != b for a, b in itertools.pairwise(one)) for one in seen]
    assert max(changes) > 5
    assert all(one[-1] for one in seen)


def test_a_wiggle_opens_only_what_lies_at_the_edge_of_its_track() -> None:
    dead = {"dead": [{"pair": "30-58", "low": 1.03, "high": 1.4}]}
    for faults, opens in (({}, False), (dead, True)):
        contacts = switch(positions={"off": [], "on": ["30-58"]}, faults=faults, bounce_ms=0.0).contacts(1)
        contacts.knob.stroke(0.5, 1.0, 0.1)
        contacts.knob.wiggle(1.0, 1.0, 0.06, 3.0)
        assert any(not contacts.touching(1.0 + i / 100) for i in range(100)) is opens
        assert contacts.touching(2.5)


def test_a_hand_does_one_thing_after_the_other() -> None:
    knob = switch(positions=TWO).contacts(1).knob
    knob.stroke(1.0, 1.0, 0.5)
    with pytest.raises(ValueError, match="one thing after the other"):
        knob.stroke(1.2, 0.0, 0.1)
    assert knob.at(1.25) == pytest.approx(0.5)


@pytest.mark.parametrize("bare", [False, True])
def test_the_scan_sees_what_touches(bare: bool) -> None:
    inserted = switch(positions=TWO, terminals=["30", "58", "56"]).in_socket()
    with VirtualBoard(inserted.on_bare() if bare else inserted, 3, bare) as board:
        source, sinks = (Line.T30, (Line.T87, Line.T87A)) if bare else (Line.LEAD_1, (Line.LEAD_2, Line.LEAD_3))
        relay = board.plant.relay
        assert isinstance(relay, Bystander)
        relay.wired.knob.stroke(0.3, 1.0, 0.1)
        for closed in ((True, False), (False, True)):
            for sink, shut in zip(sinks, closed, strict=True):
                counts = board.scan(Scan(source, sink))
                conducts = counts.sink > 3000 if bare else sunk_a(counts) > 1e-3
                assert conducts is shut
            board.wait(0.5)


def test_a_terminal_on_the_vehicle_shows_before_anything_is_driven() -> None:
    for volts, shows in ((0.0, False), (12.6, True)):
        live = {"live": {"58": volts}} if volts else {}
        with VirtualBoard(switch(positions=TWO, terminals=["30", "58", "56"], faults=live).in_socket(), 3) as board:
            looked = board.scan(Scan(Line.NONE, Line.NONE, Line.LEAD_2)).look * 6.144 / 32768
            assert (looked > 5.3) is shows


def test_parts_inside_are_where_they_belong() -> None:
    lamp = {"between": "58-31", "kind": "filament", "volts": 24.0, "watts": 2.0}
    inserted = switch(positions=TWO, terminals=["30", "58", "56", "31"], inside=[lamp]).in_socket()
    assert isinstance(inserted, Inserted)
    with VirtualBoard(inserted, None) as board:
        (filament,) = [one for one in board.plant.network() if isinstance(one, Resistor) and one.ohm > 1]
    assert (filament.a, filament.b) == ("lead 2", "lead 4")
    assert filament.ohm == pytest.approx(24**2 / 2 / 12, rel=0.1)
