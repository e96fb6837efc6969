"""What a restart may not do: give load time, or pass for no restart; and how deep the stack was before."""

from itertools import pairwise
from pathlib import Path

from desk import Desk
from fake_bench import FakeBench

from pulldrop.board.contract import Trip
from pulldrop.board.request_types import Drive
from pulldrop.board.serial import SerialBoard
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.jobs.run import by_look
from pulldrop.jobs.run.specimens import find
from pulldrop.measure.rig.rig import Rig
from pulldrop.store import Store
from pulldrop.wire import codec, frames
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result

ON = (1843, 1, 0, 3, 60_000, 1000)


def start(desk: Desk) -> int:
    return desk.ask(wire.STATUS).number("start")


def test_resets_give_no_load_time(fake_desk: Desk) -> None:
    """With the account lost at every reset, four resets gave 3.9 s of load in 4.1 s."""
    loaded_s = 0.0
    for _ in range(4):
        fake_desk.send(wire.LOAD_PULSE, (1, 8, 200, 12, 450, 5))
        fake_desk.run(0.01)
        if fake_desk.machine.pins.branches:
            loaded_s += 0.01 + fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 0.6)
        fake_desk.machine.reset()
        fake_desk.run(0.02)
        fake_desk.answers.clear()
    assert 0 < loaded_s <= 1.0
    refused = fake_desk.ask(wire.LOAD_PULSE, (1, 8, 200, 12, 450, 5)).result
    assert refused is Result.DUTY


def test_a_board_that_is_cut_off_and_plugged_in_again_at_once_gets_no_load_time(elf: Path) -> None:
    """Its resistors may be hot. One that was at rest for 10 s has it all at once."""
    pulse = (1, 8, 200, 2, 450, 5)
    with Desk(elf, FakeBench()) as desk:
        desk.run(0.02)
        assert desk.ask(wire.LOAD_PULSE, pulse).result is Result.DONE
        warm = desk.machine.chip.eeprom()
        desk.run(10.5)
        cold = desk.machine.chip.eeprom()
    for memory, wanted in ((warm, Result.DUTY), (cold, Result.DONE)):
        with Desk(elf, FakeBench(), memory) as again:
            again.run(0.02)
            assert again.ask(wire.LOAD_PULSE, pulse).result is wanted


def test_nothing_from_before_a_restart_is_done(fake_desk: Desk) -> None:
    """The newest number was 0 then: a copy of an order from before turned the coil on."""
    assert fake_desk.ask(wire.HOLD_COIL, ON).result is Result.DONE
    again = fake_desk.newest
    copy = frames.frame(codec.request(again, wire.HOLD_COIL, ON))
    fake_desk.ask(wire.ALL_OFF)
    fake_desk.machine.reset()
    fake_desk.run(0.03)
    for wanted in (Result.NOT_BEGUN, Result.REPEAT):
        fake_desk.answers.clear()
        fake_desk.machine.receive(copy)
        assert fake_desk.answer(again).result is wanted
        assert not fake_desk.machine.pins.coil
        fake_desk.begin()


def test_every_start_has_another_number_without_the_help_of_its_eeprom(fake_desk: Desk) -> None:
    """The upper half is chance, from what RAM held; the lower half counts starts in the EEPROM."""
    chances = [start(fake_desk) >> 16]
    for _ in range(5):
        fake_desk.machine.reset()
        fake_desk.run(0.02)
        chances.append(start(fake_desk) >> 16)
    assert all(before != after for before, after in pairwise(chances))


def test_the_stack_keeps_away_from_the_variables_in_the_hardest_work(fake_desk: Desk) -> None:
    """Reported in `greet`; nested work, interrupts and answers, a bus that is held, and a trip."""
    for _ in range(3):
        fake_desk.send(wire.HOT_STEP, (*ON, 50, 1, 1, 4, 100, 1))
        for _ in range(10):
            fake_desk.send(wire.STATUS)
            fake_desk.send(wire.READ_SAMPLES, (0,))
            fake_desk.run(0.005)
        fake_desk.run(0.05)
    fake_desk.machine.chip.hold_bus(True)
    fake_desk.ask(wire.SENSE_COIL)
    fake_desk.machine.chip.hold_bus(False)
    fake_desk.run(0.6)
    spare = fake_desk.ask(wire.GREET).number("stack_spare")
    print(f"stack: {spare} bytes never reached")
    assert spare >= 256


def test_a_desk_that_asked_long_still_gives_orders(fake_desk: Desk) -> None:
    """An order's number must be 1 to 127 ahead of the last; with one count for all, 200 questions brought it behind."""
    for _ in range(200):
        fake_desk.ask(wire.STATUS)
    assert fake_desk.ask(wire.HOLD_COIL, (1843, 0, 0, 0, 100, 1000)).result is Result.DONE


def opened(port: SteppedPort) -> SerialBoard:
    return SerialBoard(port, "the emulator", port.clock, port.sleep, port.again)


def test_a_new_host_on_a_board_that_was_not_reset_begins_with_everything_off() -> None:
    """It kept on, without knowing, what the host before it had left on when it died."""
    with SteppedPort(find("good-12v-changeover").text, None) as port:
        opened(port).hold_coil(Drive(dac=1843, on=True, on_ms=60_000, limit=1000))
        with opened(port.again()) as second:
            assert not port.machine.pins.coil
            second.wait(1.0)
            assert not port.machine.pins.coil


def test_what_an_earlier_host_ordered_and_the_line_held_back_is_not_done_for_the_next_one() -> None:
    with SteppedPort(find("good-12v-changeover").text, None) as port, opened(port) as board:
        told = board._requests.ask(wire.GREET)
        held_back = frames.frame(codec.request(told.number("order") + 1, wire.HOLD_COIL, ON))
        with opened(port.again()) as second:
            port.write(held_back)
            second.wait(0.2)
            assert not port.machine.pins.coil


def test_a_host_keeps_its_lease_wherever_the_questions_of_the_ones_before_ended() -> None:
    """Those that ended at number 129 left a board whose lease the next host's 128 questions did not renew."""
    with SteppedPort(find("good-12v-changeover").text, None) as port:
        for _ in range(45):
            with opened(port.again()) as board:
                board.hold_coil(Drive(dac=1843, on=True, on_ms=60_000, limit=1000))
                board.wait(0.6)
                assert port.machine.pins.coil


def test_a_trip_that_another_computer_left_does_not_hold_up_the_next_test() -> None:
    """It was killed with the coil on, and a port that is opened does not restart every board."""
    with SteppedPort(find("good-12v-changeover").text, 5) as port:
        rig = Rig.uncalibrated(SerialBoard(port, "the emulator", port.clock, port.sleep))
        rig.board.hold_coil(rig.drive(12.0))
        port.sleep(1.2)
        with (
            SerialBoard(port.again(), "the emulator", port.clock, port.sleep) as board,
            Store.open(":memory:") as store,
        ):
            assert board.status().trip is Trip.LEASE
            assert by_look.look(board, store, None).plan is not None
