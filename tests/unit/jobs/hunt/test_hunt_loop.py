"""A hunt with a wire and a person: it proves a rule, takes what was done otherwise, is left and gone on with."""

from pathlib import Path

import pytest
from cab import CABIN, Cab, Somebody, head, live

from pulldrop.jobs.hunt.log import BadLog, HuntLog
from pulldrop.jobs.hunt.loop import Left, go
from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.model.hunt.ask import Move
from pulldrop.model.hunt.look import Side
from pulldrop.model.hunt.outcome import Grade, HuntOutcome
from pulldrop.model.wording.hunt import HuntWords
from pulldrop.protocol.cabin import cabin
from pulldrop.protocol.shipped.library import cabin_names


def hunted(log: HuntLog, somebody: Somebody) -> HuntOutcome:
    return go(log.hunt(), HuntedWire(somebody.cab.read, Side.HIGH), somebody, log)


def test_three_conditions_are_proved_and_said(tmp_path: Path) -> None:
    somebody = Somebody(Cab(CABIN.listed(), live))
    with HuntLog.open(tmp_path / "log", head()) as log:
        found = hunted(log, somebody)
    assert found.grade is Grade.PROVED
    told = HuntWords(CABIN.listed()).outcome(found)
    assert told[0] == "Live with key at ON and lamps at on and fan not at fast."
    assert "proved" in told[1]
    assert "about 1 in" in told[2] or "less than 1 in" in told[2]
    assert any("key at START" in one for one in told if one.startswith("Never asked for"))


def test_what_was_done_otherwise_is_no_slip(tmp_path: Path) -> None:
    cab = Cab(CABIN.listed(), live)
    somebody = Somebody(cab, otherwise={3: (Move(control="lamps", position=1),), 6: (Move(control="key", position=2),)})
    with HuntLog.open(tmp_path / "log", head()) as log:
        found = hunted(log, somebody)
        assert sum(getattr(one, "own", False) for one in log.entries) == 2
    assert found.grade is Grade.PROVED


def test_a_hunt_that_was_left_goes_on_where_it_was(tmp_path: Path) -> None:
    cab = Cab(CABIN.listed(), live)
    with HuntLog.open(tmp_path / "log", head()) as log, pytest.raises(Left):
        hunted(log, Somebody(cab, leaves=6))
    with (tmp_path / "log").open("a") as file:
        file.write('{"kind":"seen","mov')  # the power went
    with HuntLog.open(tmp_path / "log", head()) as log:
        assert len(log.entries) == 5
        found = hunted(log, Somebody(cab))
    assert found.grade is Grade.PROVED
    again = HuntLog.open(tmp_path / "log", head())
    with again:
        assert again.hunt().result() == found


def test_a_dead_wire_is_not_found_and_never_proved(tmp_path: Path) -> None:
    with HuntLog.open(tmp_path / "log", head()) as log:
        found = hunted(log, Somebody(Cab(CABIN.listed(), lambda *_: 0.0)))
    assert found.grade is Grade.NOT_FOUND
    told = HuntWords(CABIN.listed()).outcome(found)
    assert any("cut" in one for one in told)


def test_a_low_battery_stops_it(tmp_path: Path) -> None:
    with HuntLog.open(tmp_path / "log", head()) as log:
        found = hunted(log, Somebody(Cab(CABIN.listed(), live, battery_v=11.5)))
    assert found.grade is Grade.STOPPED
    assert "11.8 V" in " ".join(HuntWords(CABIN.listed()).outcome(found))


@pytest.mark.parametrize("text", ["", "no log\n", '{"log": 1}\n'])
def test_a_file_that_is_no_log_is_left_as_it_is(tmp_path: Path, text: str) -> None:
    file = tmp_path / "log"
    file.write_text(text)
    with pytest.raises(BadLog, match="no log of a hunt"):
        HuntLog.open(file, head())
    assert file.read_text() == text


def test_a_log_of_another_cabin_or_of_a_real_one_is_not_gone_on_with(tmp_path: Path) -> None:
    file = tmp_path / "log"
    HuntLog.open(file, head()).__exit__()
    with pytest.raises(BadLog, match="a simulated hunt"):
        HuntLog.open(file, head().model_copy(update={"simulated": False}))


def test_the_shipped_cabins_are_read_and_say_that_they_are_invented() -> None:
    for name in cabin_names():
        found = cabin(name)
        assert found.cabin == name
        assert "invented" in found.source
        assert found.listed()
