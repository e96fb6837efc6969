"""Edges of the wire matched to what was tapped."""

import pytest

from pulldrop.hunt.play import EARLY_S, LATE_S, SOON_S, settle
from pulldrop.hunt.session import Hunt
from pulldrop.hunt.space import Space
from pulldrop.model.hunt.ask import AskReason, ReadBackStep, SetStep
from pulldrop.model.hunt.control import Precautions, key, latching, momentary
from pulldrop.model.hunt.diary import Played, Touch, WireEdge
from pulldrop.model.hunt.look import ACTS, Side, WireLevel, WireLook

CABIN = (key(), latching("lights"), momentary("push"), latching("blind light"))
ON, OFF = (WireLevel.ON, True), (WireLevel.OPEN, False)


def touch(control: str, position: int, at_s: float) -> Touch:
    return Touch(control=control, position=position, at_s=at_s)


def edge(level: WireLevel, at_s: float) -> WireEdge:
    return WireEdge(look=WireLook(level=level), at_s=at_s)


def played(touches: list[Touch], *edges: WireEdge) -> Played:
    return Played(touches=tuple(touches), edges=edges, before=WireLook(level=WireLevel.OPEN))


def settled(made: Played) -> list[object]:
    return list(settle(made, Space(CABIN, Precautions()), ACTS[Side.HIGH]))


def test_an_edge_belongs_to_the_touch_that_is_tapped_after_it() -> None:
    made = played([touch("key", 1, 3), touch("lights", 1, 6), touch("blind light", 1, 9)], edge(WireLevel.ON, 5.4))
    assert settled(made) == [((0, 1), OFF), ((1, 1), ON), ((3, 1), ON)]


@pytest.mark.parametrize("at_s", [6 - EARLY_S + 0.01, 6 + LATE_S - 0.01])
def test_an_edge_may_come_before_the_tap_or_a_little_after(at_s: float) -> None:
    assert settled(played([touch("lights", 1, 6)], edge(WireLevel.ON, at_s))) == [((1, 1), ON)]


def test_a_button_is_seen_pressed_and_let_go() -> None:
    made = played([touch("push", 1, 6)], edge(WireLevel.ON, 5.0), edge(WireLevel.OPEN, 5.5))
    assert settled(made) == [((2, 1), ON), ((2, 0), OFF)]


def test_an_edge_that_two_touches_could_claim_is_evidence_for_neither() -> None:
    touches = [touch("lights", 1, 6), touch("blind light", 1, 6.9), touch("key", 1, 12)]
    assert settled(played(touches, edge(WireLevel.ON, 6 + SOON_S / 2))) == [
        ((1, 1), None),
        ((3, 1), None),
        ((0, 1), ON),
    ]
    assert settled(played(touches, edge(WireLevel.ON, 6.5))) == [((1, 1), OFF), ((3, 1), ON), ((0, 1), ON)]
    assert settled(played(touches, edge(WireLevel.ON, 5.9))) == [((1, 1), ON), ((3, 1), ON), ((0, 1), ON)]


def test_an_edge_far_from_every_tap_is_nobodys() -> None:
    made = played([touch("lights", 1, 6), touch("key", 1, 12)], edge(WireLevel.ON, 9.0))
    assert settled(made) == [((1, 1), OFF), ((0, 1), None)]


def test_play_finds_a_single_switch_and_the_search_goes_on_from_there() -> None:
    hunt = Hunt(CABIN)
    hunt.next_step()
    hunt.seen([WireLook(level=WireLevel.OPEN)])
    touches = [
        touch("key", 1, 3),
        touch("key", 0, 6),
        touch("lights", 1, 9),
        touch("lights", 0, 12),
        touch("push", 1, 15),
    ]
    hunt.play(touches, [edge(WireLevel.ON, 8.4), edge(WireLevel.OPEN, 11.3)], WireLook(level=WireLevel.OPEN))
    found = hunt.leading
    assert found is not None
    assert [hunt.space.controls[one.control].id for one in hunt.language.conditions(found.rule.paths[0])] == ["lights"]
    assert Hunt.replay(hunt.diary()).leading == found
    assert found.mass < 0.98, "taps alone prove nothing"


def test_after_play_the_positions_are_read_and_no_step_is_used_up() -> None:
    hunt = Hunt(CABIN, most_steps=3)
    hunt.next_step()
    hunt.seen([WireLook(level=WireLevel.OPEN)])
    hunt.play([touch("lights", i % 2, 3.0 * i) for i in range(1, 20)], [], WireLook(level=WireLevel.OPEN))
    assert hunt.next_step() == ReadBackStep(reason=AskReason.OVERDUE)
    hunt.read_back([0, 1, 0, 0])
    assert isinstance(hunt.next_step(), SetStep) and hunt.result().steps == 2


def test_an_unknown_touch_is_refused_whole() -> None:
    hunt = Hunt(CABIN)
    with pytest.raises(KeyError):
        hunt.play([touch("lights", 1, 3), touch("ramp", 1, 6)], [], WireLook(level=WireLevel.OPEN))
    assert not hunt.record.looks and not hunt.entries
