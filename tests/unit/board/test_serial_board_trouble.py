"""What a serial board does when the line, the board or the part misbehaves: planted trouble, exact dialogues."""

from itertools import pairwise

import pytest
from scripted_port import DRIVE, IDLE, ON, ScriptedPort, opened, talk

from pulldrop.board import steady
from pulldrop.board.contract import Status, Trip
from pulldrop.board.errors import (
    BoardError,
    NoAnswer,
    Refused,
    Tripped,
    WireTrouble,
)
from pulldrop.board.request_types import Analog, Branch, Pulse, Stairs
from pulldrop.board.serial import SerialBoard
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import Fault, Result

STAIRS = Stairs(DRIVE, step=7, count=200, dwell_ms=50, watch=Contact.NO, wanted=Contact.NO)
STAIRCASE = (1638, 0, 3, 500, 600, 7, 200, 50, 1, 1)
LANDED = (1, 3, 1617, 1, 0)
AT_WORK = {"work": wire.STAIRCASE.id, "outputs": 1}


def test_noise_between_frames_costs_nothing() -> None:
    port = ScriptedPort().bytes(b"\x00\xff\x13\x00\x00garbage\x00").status()
    port.bytes(b"\x99\x00").bytes(frame(b"\x01\xff\x00")).host(wire.ALL_OFF).board().closing()
    with opened(port) as board:
        assert board.status().uptime_ms == 1000
        board.off()
        assert board.damaged == 4
    port.finish()


def test_a_damaged_answer_is_asked_for_once_more() -> None:
    port = ScriptedPort().host(wire.SENSE_ANALOG, 1)
    damaged = bytearray(port.answer((8000,)))
    damaged[5] ^= 0x04
    port.bytes(bytes(damaged)).host(wire.SENSE_ANALOG, 1).board(8000).status().closing()
    (total,) = talk(port, lambda board: board.sense_analog(1))
    assert total == 8000


def test_a_question_without_answer_is_asked_twice_and_no_oftener() -> None:
    port = ScriptedPort().host(wire.SENSE_COIL).host(wire.SENSE_COIL).closing()
    with pytest.raises(NoAnswer, match="did not answer sense_coil, asked twice"):
        talk(port, SerialBoard.sense_coil)
    port.finish()


def test_the_second_asking_comes_before_the_lease_ends() -> None:
    port = ScriptedPort().host(wire.SENSE_COIL).host(wire.SENSE_COIL).board(1, 1).status().closing()
    talk(port, SerialBoard.sense_coil)
    (first, _), (second, _) = port.writes[3:5]
    assert second - first < wire.LEASE_MS / 1000 / 2


def test_a_late_answer_to_the_first_asking_is_as_good() -> None:
    port = ScriptedPort().host(wire.SENSE_COIL).host(wire.SENSE_COIL)
    port.late(wire.SENSE_COIL, 9600, 4000, back=1).bytes(port.answer((9601, 4001))).status().closing()
    (counts,) = talk(port, SerialBoard.sense_coil)
    assert (counts.bus, counts.shunt) == (9600, 4000)


def test_a_board_that_is_busy_with_the_first_asking_is_waited_for() -> None:
    port = ScriptedPort().host(wire.SENSE_COIL).host(wire.SENSE_COIL).refuses(Result.BUSY)
    port.late(wire.SENSE_COIL, 9600, 4000, back=1).status().closing()
    (counts,) = talk(port, SerialBoard.sense_coil)
    assert (counts.bus, counts.shunt) == (9600, 4000)


def test_work_refused_for_a_reading_that_was_asked_twice_is_sent_when_the_board_is_idle() -> None:
    port = ScriptedPort().host(wire.SENSE_ANALOG, 1).host(wire.SENSE_ANALOG, 1)
    port.late(wire.SENSE_ANALOG, 8000, back=1).status()
    port.host(wire.HOLD_COIL, *ON).refuses(Result.BUSY).status(work=wire.SENSE_ANALOG.id)
    port.status().host(wire.HOLD_COIL, *ON).board().status().closing()
    talk(port, lambda board: board.sense_analog(1), lambda board: board.hold_coil(DRIVE))


def test_a_reading_refused_for_another_that_was_asked_twice_is_asked_again() -> None:
    port = ScriptedPort().host(wire.SENSE_COIL).refuses(Result.BUSY).status()
    port.host(wire.SENSE_COIL).board(9600, 4000).status().closing()
    (counts,) = talk(port, SerialBoard.sense_coil)
    assert (counts.bus, counts.shunt) == (9600, 4000)


def test_a_board_that_stays_busy_is_refused_and_named() -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).refuses(Result.BUSY)
    port.status(**AT_WORK).status(**AT_WORK, uptime_ms=2000).closing()
    with pytest.raises(Refused, match="still at work on another request"):
        talk(port, lambda board: board.hold_coil(DRIVE))
    port.finish()


def test_a_trip_while_a_busy_board_is_waited_for_ends_the_run() -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).refuses(Result.BUSY).status(trip=1).closing()
    with pytest.raises(Tripped):
        talk(port, lambda board: board.hold_coil(DRIVE))
    port.finish()


def test_an_answer_to_something_else_is_never_taken() -> None:
    port = ScriptedPort().host(wire.SENSE_COIL).late(wire.SENSE_COIL, 1, 1, back=5)
    port.late(wire.SENSE_ANALOG, 77, back=0).board(9600, 4000).status().closing()
    (counts,) = talk(port, SerialBoard.sense_coil)
    assert (counts.bus, counts.shunt) == (9600, 4000)


def test_naming_a_board_is_never_sent_twice() -> None:
    port = ScriptedPort().host(wire.NAME_BOARD, 9).closing()
    with pytest.raises(NoAnswer, match="asked once"):
        talk(port, lambda board: board.name(9))
    port.finish()


def test_while_the_board_works_the_lease_is_kept() -> None:
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE)
    for i in range(300):  # beyond one round of the sequence numbers
        port.status(**AT_WORK, uptime_ms=1000 + i)
    port.bytes(port.answer(LANDED, message=wire.STAIRCASE)).status().closing()
    (landing,) = talk(port, lambda board: board.staircase(STAIRS))
    assert landing.dac == 1617
    times = [at for at, _ in port.writes]
    assert max(b - a for a, b in pairwise(times)) < wire.LEASE_MS / 1000 / 3


def test_a_lost_answer_to_work_turns_everything_off_and_ends_the_run() -> None:
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE).status(**AT_WORK).status().status()
    port.host(wire.ALL_OFF).board().closing()
    with pytest.raises(NoAnswer, match=r"not repeated, so this run is over.*turn everything off, and confirms"):
        talk(port, lambda board: board.staircase(STAIRS))
    port.finish()


def test_work_whose_request_was_lost_is_not_sent_again() -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).status().status().host(wire.ALL_OFF).board().closing()
    with pytest.raises(NoAnswer, match="hold_coil"):
        talk(port, lambda board: board.hold_coil(DRIVE))
    port.finish()


def test_a_board_that_works_for_ever_is_turned_off() -> None:
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE).status(**AT_WORK)
    port.status(**AT_WORK, uptime_ms=1000 + 200 * 51 + 1001).host(wire.ALL_OFF).board().closing()
    with pytest.raises(NoAnswer):
        talk(port, lambda board: board.staircase(STAIRS))
    port.finish()


def test_a_trip_in_a_staircase_is_noticed_while_waiting() -> None:
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE).status(**AT_WORK).status(trip=1)
    port.closing()
    with pytest.raises(Tripped) as tripped:
        talk(port, lambda board: board.staircase(STAIRS))
    assert tripped.value.trip is Trip.OVER_CURRENT
    port.finish()


def test_a_trip_whose_refusal_comes_first_is_told_as_the_same_trip() -> None:
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE).refuses(Result.STOPPED).status(trip=2, stop=1).closing()
    with pytest.raises(Tripped, match="emergency stop was opened"):
        talk(port, lambda board: board.staircase(STAIRS))
    port.finish()


def test_work_that_was_done_just_before_a_trip_is_not_believed() -> None:
    pulse = Pulse(Contact.NO, Branch.A1, settle_ms=1, samples=1, limit_ms=50)
    port = ScriptedPort().host(wire.LOAD_PULSE, 1, 1, 1, 1, 50, 5).board([5], [6]).status(trip=3).closing()
    with pytest.raises(Tripped) as tripped:
        talk(port, lambda board: board.load_pulse(pulse))
    assert tripped.value.trip is Trip.LEASE


def test_a_trip_while_waiting_is_told_at_once() -> None:
    port = ScriptedPort().status(outputs=1).status(outputs=1).status(trip=4).closing()
    with pytest.raises(Tripped) as tripped:
        talk(port, lambda board: board.wait(10.0))
    assert tripped.value.trip is Trip.ON_TIME
    assert port.clock.now < 101.0
    port.finish()


def test_a_request_that_the_line_says_twice_is_not_sent_again() -> None:
    """The board takes it once; its word for the second stands for nothing, whichever comes first."""
    port = ScriptedPort().host(wire.LOAD_PULSE, 1, 1, 1, 1, 50, 5).refuses(Result.REPEAT).board([5], [6]).status()
    pulse = Pulse(Contact.NO, Branch.A1, settle_ms=1, samples=1, limit_ms=50)
    (counts,) = talk(port.closing(), lambda board: board.load_pulse(pulse))
    assert counts == PulseCounts(drop=(5,), shunt=(6,), gain=5)


def test_a_request_of_which_only_the_repeat_is_answered_ends_the_run() -> None:
    port = ScriptedPort().host(wire.LOAD_PULSE, 1, 1, 1, 1, 50, 5).refuses(Result.REPEAT).status().status()
    pulse = Pulse(Contact.NO, Branch.A1, settle_ms=1, samples=1, limit_ms=50)
    with pytest.raises(NoAnswer, match="not repeated"):
        talk(port.host(wire.ALL_OFF).board().closing(), lambda board: board.load_pulse(pulse))
    port.finish()


def test_logs_of_another_step_are_not_mixed_with_this_one_s() -> None:
    port = ScriptedPort().host(wire.STEP_COIL, *ON, 20, 2, 0).board(2, 1, 0, 0, 0, 9).status()
    port.host(wire.READ_EDGES, 0).board(10, [1]).closing()
    with pytest.raises(BoardError, match=r"edges of another step \(log 10, 9 was asked for\)"):
        talk(port, lambda board: board.step_coil(DRIVE, 20, 2))
    port.finish()


def test_a_coil_supply_that_does_not_obey_ends_the_run() -> None:
    port = ScriptedPort().status(faults=1).closing()
    with pytest.raises(Refused, match=r"coil supply .* does not obey") as refused:
        talk(port, lambda board: board.wait(1.0))
    assert refused.value.reason == "bus"
    port.finish()


def test_a_bus_on_which_nothing_answers_is_told_and_ends_no_reading_that_needs_none() -> None:
    port = ScriptedPort().status(faults=2).host(wire.SENSE_ANALOG, 1).board(8000).status(faults=2).closing()
    told, counts = talk(port, lambda board: board.status(), lambda board: board.sense_analog(Analog.BENCH_TEMPERATURE))
    assert isinstance(told, Status) and told.bus_silent and counts == 8000


def test_edges_that_the_board_does_not_give_are_missed() -> None:
    port = ScriptedPort().host(wire.STEP_COIL, *ON, 20, 2, 0).board(2, 3, 0, 0, 0, 9).status()
    port.host(wire.READ_EDGES, 0).board(9, [1, 2]).closing()
    with pytest.raises(NoAnswer, match="stored 3 edges and gave only 2"):
        talk(port, lambda board: board.step_coil(DRIVE, 20, 2))
    port.finish()


def test_an_acknowledgement_with_the_emergency_stop_open_is_refused() -> None:
    port = ScriptedPort().host(wire.ACKNOWLEDGE).refuses(Result.TRIPPED).status(trip=2, stop=1).closing()
    with pytest.raises(Tripped, match="Close it when the bench is safe"):
        talk(port, SerialBoard.acknowledge)
    port.finish()


def test_leaving_by_an_exception_turns_everything_off() -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).board().status(outputs=1).closing()
    with pytest.raises(KeyboardInterrupt), opened(port) as board:
        board.hold_coil(DRIVE)
        raise KeyboardInterrupt
    port.finish()


def test_closing_never_raises() -> None:
    silent = ScriptedPort().host(wire.ALL_OFF).host(wire.ALL_OFF)
    opened(silent).close()
    silent.finish()
    gone = ScriptedPort().unplugged()
    opened(gone).close()
    assert gone.closed


def test_a_refused_request_leaves_the_board_usable() -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).refuses(Result.ARGUMENT).status().closing()
    with opened(port) as board:
        with pytest.raises(Refused):
            board.hold_coil(DRIVE)
        board.status()
    port.finish()


def test_an_all_off_that_comes_late_ends_the_run() -> None:
    """It turned the coil off, and the next reading was believed as one of a coil that is on."""
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).board().status().host(wire.SENSE_COIL).board(9600, 0)
    port.status(order=200).closing()
    with pytest.raises(BoardError, match="something other than its last order: the order it heard last is number 200"):
        talk(port, lambda board: board.hold_coil(DRIVE), SerialBoard.sense_coil)
    port.finish()


def test_a_status_of_long_ago_does_not_end_the_waiting_for_work() -> None:
    """Two that told of an idle board were taken for answers, and the run was given up."""
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE)
    for back in (1, 2):
        port.late(wire.STATUS, *(IDLE | {"order": 201}).values(), back=back)
    port.bytes(port.answer(LANDED, message=wire.STAIRCASE)).status().closing()
    (landing,) = talk(port, lambda board: board.staircase(STAIRS))
    assert landing.dac == 1617


@pytest.mark.parametrize(("fault", "words"), [(Fault.COIL_SUPPLY, "volts are unknown"), (Fault.SCAN, "5 V may stand")])
def test_a_part_that_does_not_obey_ends_the_run(fault: Fault, words: str) -> None:
    port = ScriptedPort().status(faults=fault).closing()
    with pytest.raises(Refused, match=words):
        talk(port, lambda board: board.wait(0.1))
    port.finish()


def test_a_pin_that_goes_to_and_fro_is_trouble_of_the_bench_whatever_it_shows() -> None:
    """It was taken for the contact: sound parts failed by their state at rest, by their pull-in or operate time."""
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE).board(1, 3, 1617, 1, 1).status().closing()
    with pytest.raises(WireTrouble, match="terminal 87 goes up and down"):
        talk(port, lambda board: board.staircase(STAIRS))
    port = ScriptedPort().host(wire.STEP_COIL, *ON, 20, 2, 0).board(2, 0, 0, 2, 0, 9).status().closing()
    with pytest.raises(WireTrouble, match=r"terminal 87a goes up and down.* everything is off.* burnt or loose"):
        talk(port, lambda board: board.step_coil(DRIVE, window_ms=20, divider=2))


FED = 3 << 8
"""Both dry sources on."""


def test_a_pin_that_comes_to_rest_shows_the_contact() -> None:
    """As after a bounce; one that does not is trouble."""
    port = ScriptedPort().status(outputs=FED, contacts=3, restless=2)
    for at, restless in ((1005, 2), (1010, 0)):
        port.status(uptime_ms=at).status(outputs=FED, contacts=1, restless=restless)
    assert talk(port.closing(), steady.contacts) == [Contact.NO]
    port = ScriptedPort().status(outputs=FED, contacts=1, restless=1).closing()
    assert talk(port, lambda board: steady.contacts(board, Contact.NC)) == [Contact.NO], "NC is asked for"
    port = ScriptedPort().status(outputs=FED, contacts=1, restless=1)
    for at in range(1005, 1060, 5):
        port.status(uptime_ms=at).status(outputs=FED, contacts=1, restless=1)
    with pytest.raises(WireTrouble, match="terminal 87 goes up and down"):
        talk(port.closing(), steady.contacts)
