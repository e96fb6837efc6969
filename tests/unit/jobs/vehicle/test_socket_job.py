"""A socket by the vehicle lead, on every simulated vehicle; and what a person may do wrong, each with its sentence."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.jobs.vehicle import boards
from pulldrop.jobs.vehicle.log import Log
from pulldrop.jobs.vehicle.socket import NotAsSaid, SocketCheck
from pulldrop.measure.lead import LeadRig, LeadTrouble
from pulldrop.model.vehicle.answers import SocketAnswers
from pulldrop.model.vehicle.lead import Glow, LeadPlace
from pulldrop.model.vehicle.socket import SocketFound
from pulldrop.plant.vehicle import stock
from pulldrop.plant.vehicle.lead import Lead, Placement, moved

Amiss = Callable[[Lead, Placement, LeadPlace, int], Placement]
"""What a person makes of the n-th thing that they are asked, from what it should be."""


def checked(
    tmp_path: Path,
    name: str = "heritage-bus-12",
    amiss: Amiss | None = None,
    system_v: int = 0,
    lit: tuple[str, ...] = (),
    lamp_w: dict[str, float] | None = None,
) -> tuple[SocketFound, list[str]]:
    """The verdict, and what was told between."""
    car = boards.vehicle(name)
    watts = lamp_w or {}
    elements = tuple(
        one.model_copy(update={"watts": watts[one.name]}) if one.name in watts else one for one in car.elements
    )
    car = car.model_copy(update={"elements": elements})
    board, told, count = LeadBoard(car, 11), list[str](), [0]
    good, lead = boards.simulated_hand(board.plant), board.plant.lead

    def hand(place: LeadPlace) -> Glow | None:
        count[0] += 1
        glow = good(place)
        if amiss:
            now = board.elapsed()
            lead.place(amiss(lead, lead.placed(now), place, count[0]), now)
        return glow

    answers = SocketAnswers.model_validate({"system_v": system_v or car.system_v})
    with Log(tmp_path / "log.jsonl", "socket", board.identity, name) as log:
        return SocketCheck(LeadRig(board), hand, answers, log, told.append, lit).run(), told


@pytest.mark.parametrize("name", stock.names())
def test_the_leg_that_is_at_fault_comes_first_on_every_vehicle(name: str, tmp_path: Path) -> None:
    found, _ = checked(tmp_path, name)
    fault = boards.vehicle(name).fault
    assert found.first == (fault.leg if fault else None)
    assert found.said and found.next and all(one.word and one.why for one in found.legs)


def test_words_are_alive_weak_and_dead_with_their_number(tmp_path: Path) -> None:
    found, _ = checked(tmp_path, "heritage-bus-12")
    words = {one.leg: one.word for one in found.legs}
    assert (
        words == {"feed": "alive", "ground": "weak", "trigger": "alive", "load": "alive"} or words["ground"] == "dead"
    )
    assert any("V" in one.why and "worth cleaning above" in one.why for one in found.legs)


def test_the_lead_the_wrong_way_round_is_named_before_anything_is_read(tmp_path: Path) -> None:
    def exchanged(lead: Lead, now: Placement, place: LeadPlace, _: int) -> Placement:
        turn = {lead.plus: lead.vehicle.minus, lead.vehicle.minus: lead.plus}
        return replace(now, clips={clip: turn.get(node, node) for clip, node in now.clips.items()})

    with pytest.raises(LeadTrouble, match=r"No clip reads a battery.*X6 .black. on the battery's minus"):
        checked(tmp_path, amiss=exchanged)


@pytest.mark.parametrize("name", ["coach-21", "tipper-2"])
def test_a_relay_that_is_still_in_is_named(name: str, tmp_path: Path) -> None:
    with pytest.raises(NotAsSaid, match="Pull the relay out"):
        checked(tmp_path, name, lambda lead, now, place, n: replace(now, relay=True))


def test_a_battery_that_is_taken_off_amid_it_is_named(tmp_path: Path) -> None:
    with pytest.raises(LeadTrouble, match="it was taken off, or X1 or X6 fell off"):
        checked(tmp_path, amiss=lambda lead, now, place, n: replace(now, battery="off") if n > 4 else now)


@pytest.mark.parametrize(("battery", "says"), [("charged", "the engine runs"), ("cranked", "starter")])
def test_an_engine_that_is_started_is_named(battery: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(NotAsSaid, match=says):
        checked(tmp_path, amiss=lambda lead, now, place, n: replace(now, battery=battery) if n > 5 else now)  # type: ignore[arg-type]


@pytest.mark.parametrize(("name", "said"), [("heritage-bus-12", 12), ("depot-van-3", 24)])
def test_another_system_than_was_said_is_named(name: str, said: int, tmp_path: Path) -> None:
    with pytest.raises(NotAsSaid, match=f"that is a {36 - said} V vehicle, and {said} V was said"):
        checked(tmp_path, name, system_v=said)


@pytest.mark.parametrize("clip", ["X2", "X3", "X4"])
def test_a_clip_that_fell_off_is_no_dead_leg(clip: str, tmp_path: Path) -> None:
    """It hangs free from the middle on, whatever it is asked to be on."""
    with pytest.raises(LeadTrouble, match=f"{clip} does not read the battery's plus"):
        checked(tmp_path, "coach-21", lambda lead, now, place, n: moved(now, **{clip: None}) if n > 3 else now)


def test_a_clip_that_slipped_and_was_put_back_counts_as_it_reads_then(tmp_path: Path) -> None:
    """Off at the one look that would have called the feed dead; proving it puts it back."""

    def slips(lead: Lead, now: Placement, place: LeadPlace, _: int) -> Placement:
        return moved(now, X2=None) if "Now the bulb" in place.says else now

    found, _ = checked(tmp_path, "coach-21", slips)
    assert found.first is None


def test_x1_that_falls_off_is_named(tmp_path: Path) -> None:
    with pytest.raises(LeadTrouble, match="X1 or X6 fell off"):
        checked(tmp_path, amiss=lambda lead, now, place, n: moved(now, X1=None) if n > 4 else now)


def test_a_lead_that_is_not_well_is_asked_for_again_and_may_be_mended(tmp_path: Path) -> None:
    def late(lead: Lead, now: Placement, place: LeadPlace, n: int) -> Placement:
        return moved(now, X3=None) if n == 1 else now

    found, told = checked(tmp_path, "coach-21", late)
    assert found.first is None and any("X3 reads nothing" in one for one in told)


def test_every_look_is_in_the_log(tmp_path: Path) -> None:
    checked(tmp_path)
    kept = (tmp_path / "log.jsonl").read_text()
    for what in (
        "30 and 87 at rest",
        "85 and 86 worked",
        "feed under the bulb",
        "load behind the bulb",
        "coil worked",
        '"found"',
    ):
        assert what in kept


def test_a_ground_that_another_circuit_lifts_is_broken_though_it_is_good_alone(tmp_path: Path) -> None:
    """Its shared screw is lost: dark lamps stand in for it, until they are lit."""
    heavy = {"left side lamp": 55.0}
    alone, _ = checked(tmp_path, "recovery-truck-8", lamp_w=heavy)
    assert {one.leg: one.word for one in alone.legs}["ground"] == "alive"
    (tmp_path / "log.jsonl").unlink()
    found, _ = checked(tmp_path, "recovery-truck-8", lit=("light switch",), lamp_w=heavy)
    ground = next(one for one in found.legs if one.leg == "ground")
    assert found.first == "ground" and ground.state == "broken"
    assert "while light switch is on" in ground.why and not ground.lamps


def test_lamps_in_the_grounds_way_are_excluded_only_where_they_were_lit(tmp_path: Path) -> None:
    dark, _ = checked(tmp_path, "coach-21")
    (tmp_path / "log.jsonl").unlink()
    lit, _ = checked(tmp_path, "coach-21", lit=("side lamps",))
    assert "not excluded" in dark.said and "not excluded" not in lit.said


def test_a_trigger_that_is_on_at_rest_is_stuck_and_comes_first(tmp_path: Path) -> None:
    def always_on(lead: Lead, now: Placement, place: LeadPlace, _: int) -> Placement:
        return replace(now, positions=dict(lead.vehicle.socket.works))

    found, _ = checked(tmp_path, "coach-21", always_on)
    trigger = next(one for one in found.legs if one.leg == "trigger")
    assert found.first == "trigger" and trigger.word == "stuck" and "on all the time" in trigger.why
