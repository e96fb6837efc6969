"""A switch's table as the bench learns it: every position, in any order, and a doubt wherever it may be wrong."""

import pytest
from turned import groups, learnt, switch

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure.positions.joints import Joints
from pulldrop.measure.positions.learn import Live
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.inserted import Bystander
from pulldrop.plant.parts.switch import SwitchSpecimen
from pulldrop.plant.switch.person import Habits

LIGHTS = {"off": [], "park": ["30-58"], "head": ["30-58", "30-56"]}
JOINED = {
    frozenset[frozenset[str]](),
    frozenset({frozenset({"30", "58"})}),
    frozenset({frozenset({"30", "58", "56"})}),
}


@pytest.mark.parametrize("bare", [False, True])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_position_is_found_whatever_the_order(seed: int, bare: bool) -> None:
    table = learnt(switch(positions=LIGHTS, terminals=["30", "58", "56"]), seed, bare=bare)
    assert groups(table) == JOINED
    assert not table.doubts
    assert all(row.sprung is False and row.visits >= 2 for row in table.positions)


@pytest.mark.parametrize(("overlap", "told"), [(0.2, "make before break"), (-0.2, "break before make")])
def test_a_slow_turn_shows_which_contact_comes_first(overlap: float, told: str) -> None:
    table = learnt(switch(positions={"a": ["30-58"], "b": ["30-56"], "c": ["30-57"]}, overlap=overlap))
    assert len(table.passages) == 4
    assert {one.between for one in table.passages} == {told}


@pytest.mark.parametrize("dead", [True, False])
def test_a_dead_spot_between_two_positions_is_found_by_the_slow_turn(dead: bool) -> None:
    faults = {"dead": [{"pair": "30-58", "low": 1.3, "high": 1.7}]} if dead else {}
    table = learnt(switch(positions=LIGHTS, terminals=["30", "58", "56"], faults=faults))
    opens = {pair for one in table.passages for pair in one.opens}
    assert opens == ({"30-58"} if dead else set())
    assert groups(table) == JOINED


def test_a_position_that_springs_back_is_known_by_letting_go() -> None:
    table = learnt(switch(positions={**LIGHTS, "flash": ["30-56a"]}, springs={"flash": "head"}))
    (held,) = [row for row in table.positions if row.sprung]
    assert held.state.joined("30", "56a")
    assert held.springs_to is not None
    assert table.positions[held.springs_to].state.joined("30", "56")
    assert not table.doubts


LAMP = {"between": "58-31", "kind": "filament", "volts": 24.0, "watts": 2.0}
LED = {"between": "58-31", "kind": "red led", "ohm": 1500.0}


@pytest.mark.parametrize("bare", [False, True])
@pytest.mark.parametrize(("part", "one_way"), [(LAMP, False), (LED, True)])
def test_a_lamp_inside_is_found_and_joins_nothing(part: dict[str, object], one_way: bool, bare: bool) -> None:
    table = learnt(switch(positions=LIGHTS, terminals=["30", "58", "56", "31"], inside=[part]), bare=bare)
    assert groups(table) == JOINED
    (found,) = table.inside
    assert (found.a, found.b) == ("58", "31")
    assert found.one_way is one_way
    assert not table.doubts


def test_eight_terminals_with_one_of_them_on_ground() -> None:
    positions = {"off": [], "left": ["A-B", "C-D"], "right": ["E-F", "G-H"]}
    table = learnt(switch(positions=positions, terminals=list("ABCDEFGH")))
    assert len(table.positions) == 3
    assert all(row.state.joined("G", "H") == row.state.joined("E", "F") for row in table.positions)
    assert not table.doubts


@pytest.mark.parametrize("bare", [False, True])
def test_a_switch_that_is_still_on_the_vehicle_is_refused_before_anything_is_driven(bare: bool) -> None:
    specimen = switch(positions=LIGHTS, terminals=["30", "58", "56"], faults={"live": {"30": 12.6}})
    with pytest.raises(Live, match="terminal 30 has volts of its own"):
        learnt(specimen, bare=bare)


def test_a_film_is_a_doubt_and_no_contact() -> None:
    table = learnt(switch(positions=LIGHTS, terminals=["30", "58", "56"], faults={"films": {"30-56": 40.0}}))
    assert any("a film, or a part inside" in one for one in table.doubts)


def test_a_loose_contact_is_named_with_its_position() -> None:
    dead = {"dead": [{"pair": "30-58", "low": 1.02, "high": 1.5}]}
    loose = switch(positions={"off": [], "on": ["30-58"]}, faults=dead)
    table = learnt(loose, habits=Habits(wiggles=1.0, wiggle_steps=0.1))
    assert any("30-58 changed while position" in one for one in table.doubts)
    assert not learnt(switch(positions={"off": [], "on": ["30-58"]}), habits=Habits(wiggles=1.0)).doubts


@pytest.mark.parametrize("seed", [0, 2])
def test_openings_of_some_hundredths_while_a_switch_comes_to_rest_are_seen(seed: int) -> None:
    dead = {"dead": [{"pair": "30-58", "low": 1.03, "high": 1.3}]}
    loose = switch(positions={"off": [], "low": ["30-58"], "high": ["30-58", "30-56"]}, faults=dead)
    table = learnt(loose, seed, habits=Habits(wiggles=0.8, wiggle_steps=0.06))
    assert [one.unsteady for one in table.positions].count(("30-58",)) == 1


@pytest.mark.parametrize(
    ("habits", "expected", "doubt"),
    [
        (Habits(skips=frozenset({1})), 3, "2 positions were found, and 3 were said: two may join the same"),
        (Habits(leaves_after=2), None, "nobody moved the switch any more"),
        (Habits(leaves_after=0), None, "nobody moved the switch any more"),
    ],
)  # fmt: skip
def test_a_person_who_skips_or_leaves_makes_a_doubt(habits: Habits, expected: int | None, doubt: str) -> None:
    table = learnt(switch(positions=LIGHTS, terminals=["30", "58", "56"]), habits=habits, expected=expected)
    assert any(doubt in one for one in table.doubts)


def test_more_terminals_than_lines_are_refused() -> None:
    specimen: SwitchSpecimen = switch(positions=LIGHTS)
    with VirtualBoard(specimen.in_socket(), 3) as board, pytest.raises(ValueError, match="takes 2 to 8"):
        Joints(board, "ABCDEFGHI")


def test_a_position_that_joins_the_same_as_its_neighbour_does_not_stop_the_others() -> None:
    table = learnt(switch(positions={"off": [], "dead": [], "head": ["30-56"], "park": ["30-58"]}), expected=4)
    assert len(table.positions) == 3
    assert any("two may join the same" in one for one in table.doubts)


def test_contacts_of_a_grounded_terminal_are_seen_to_overlap() -> None:
    """The eighth terminal is on ground, and between two grounded ones no current shows a contact."""
    positions = {"a": ["A-B", "G-H"], "b": ["B-H", "C-D"], "c": ["A-H", "E-F"]}
    table = learnt(switch(positions=positions, terminals=list("ABCDEFGH"), overlap=0.3))
    assert {one.between for one in table.passages} == {"make before break"}
    assert len(table.passages) == 4


def test_what_never_comes_to_rest_ends_and_says_so() -> None:
    def rock(bench: Bench) -> None:
        assert isinstance(bench.relay, Bystander)
        bench.relay.wired.knob.wiggle(0.0, 1e6, 0.8, 0.7)

    table = learnt(switch(positions={"off": [], "on": ["30-58"]}), habits=Habits(leaves_after=0), before=rock)
    assert any("nothing came to rest" in one for one in table.doubts)


@pytest.mark.parametrize(
    ("inside", "pairs", "words"),
    [
        ([{"between": "86-85", "kind": "resistor", "ohm": 85.0}], [], "as the coil of a relay has"),
        ([{"between": "86-85", "kind": "filament", "volts": 12.0, "watts": 2.0}], [], "as a cold lamp has"),
        ([{"between": "86-85", "kind": "diode"}], [], "as a diode, a LED or electronics has"),
        ([], ["86-85"], "stay joined: a fuse, a link or a welded contact"),
    ],
)
def test_what_is_no_switch_is_named(inside: list[dict[str, object]], pairs: list[str], words: str) -> None:
    table = learnt(switch(positions={"a": pairs, "b": pairs}, inside=inside, terminals=["86", "85"]))
    assert any(words in one for one in table.doubts), table.doubts
