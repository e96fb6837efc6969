"""When the bench of the campaign counts as left alone, and what a storm of edges lets the host read."""

import random
from collections.abc import Callable, Iterator

import pytest
from faulty_line.machine import NativeMachine
from faulty_line.port import FaultyPort, HostDied
from faulty_line.troubles import restart

from pulldrop.board import steady
from pulldrop.board.errors import BoardReset, Refused, WireTrouble
from pulldrop.board.request_types import Drive, Stairs
from pulldrop.board.serial import SerialBoard
from pulldrop.emulator.chip import ChipPort
from pulldrop.emulator.machine import EDGES
from pulldrop.jobs.run.specimens import find
from pulldrop.model.raw import Contact
from pulldrop.wire.messages import BEGIN, STATUS

ON, OFF = Drive(dac=1700, on=True, on_ms=5000), Drive(dac=0, on=False, on_ms=5000)


@pytest.fixture
def port() -> Iterator[FaultyPort]:
    machine = NativeMachine(find("good-12v-changeover").specimen, 0)
    yield FaultyPort(machine)
    machine.close()


def board(port: FaultyPort) -> SerialBoard:
    return SerialBoard(port, "the line", port.clock, port.pass_time)


def test_the_lease_of_a_host_that_died_counts_from_its_last_byte_at_the_board(port: FaultyPort) -> None:
    """What the line echoed came first: the coil was on for 504 ms after the death, and 495 after the request."""
    there = board(port)
    there.hold_coil(ON)
    died_s = port.machine.time_s + 0.001
    port.machine.receive(bytes(500))
    port.after(0.001, port.die)
    with pytest.raises(HostDied):
        there.hold_coil(ON)
    port.pass_time(0.6)
    assert port.over_s is not None and 0.490 < port.machine.on_s - port.over_s <= 0.5 < port.machine.on_s - died_s


def test_a_restart_before_a_host_begins_ends_no_run(port: FaultyPort) -> None:
    """The run that followed it was all counted as too late."""
    port.begins[1] = [restart]
    there = board(port)
    assert port.over_s is None
    there.hold_coil(ON)
    restarted_s = port.machine.time_s
    restart(port)
    with pytest.raises(BoardReset):
        there.status()
    assert port.over_s == restarted_s


def test_a_line_that_brings_everything_twice_is_named(port: FaultyPort) -> None:
    """The board was said to be still at work."""
    port.to_board.append(lambda data: data + data)
    with pytest.raises(Refused, match="the line brings it everything twice"):
        board(port)


def cut(data: bytes) -> bytes:
    return data[:-3]


def test_a_frame_that_comes_damaged_renews_no_lease(port: FaultyPort) -> None:
    there = board(port)
    there.hold_coil(ON)
    said_s = port.said_s
    port.to_board.append(cut)
    there._requests._link.send(STATUS)
    port.pass_time(0.01)
    port.die()
    assert port.said_s == said_s < port.machine.arrives_s
    assert port.over_s == port.machine.time_s


@pytest.mark.parametrize(
    ("spoil", "over"),
    [
        (lambda port: None, False),
        (lambda port: port.to_board.append(cut), True),
        (lambda port: port.machine.open_stop(True), True),
    ],
    ids=["heard", "damaged", "stop held"],
)
def test_a_host_begins_when_the_board_hears_it_and_its_stop_is_closed(
    port: FaultyPort, spoil: Callable[[FaultyPort], None], over: bool
) -> None:
    """Any begin that was sent ended the watch over what may not be on."""
    there = board(port)
    port.end()
    spoil(port)
    there._requests._link.send(BEGIN, (there._requests._start,))
    assert (port.over_s is not None) == over


@pytest.mark.parametrize("random_too", [False, True])
@pytest.mark.parametrize("pin", EDGES)
@pytest.mark.parametrize("gap_us", [4, 40, 150, 700])
def test_a_storm_shows_no_state_and_one_that_passes_hides_none(
    port: FaultyPort, pin: tuple[ChipPort, int], gap_us: int, random_too: bool
) -> None:
    """It made NC open, a part operate too late or at another voltage, and sound parts failed; slow noise, and noise at
    random, still did so where one look of 0.2 ms was calm."""
    chance = random.Random(gap_us) if random_too else None
    watch, wanted = (Contact.NO, Contact.NONE) if pin is EDGES[0] else (Contact.NC, Contact.NC)
    walk = Stairs(ON, step=-7, count=20, dwell_ms=20, watch=watch, wanted=wanted)
    with board(port) as there:
        there.hold_coil(OFF)
        for ask in (steady.contacts, lambda b: b.step_coil(ON, 30, 2), lambda b: b.staircase(walk)):
            port.machine.storm(pin, gap_us, 0.1, chance)
            port.pass_time(0.004)
            with pytest.raises(WireTrouble):
                ask(there)
            there.wait(0.1)
        there.hold_coil(OFF)
        there.wait(0.1)
        port.machine.storm(pin, gap_us, 0.005, chance)
        assert steady.contacts(there) == Contact.NC
        port.machine.storm(pin, gap_us, 0.003, chance)
        made = there.step_coil(ON, 30, 2)
        assert [edge.closed for edge in made.edges if edge.contact == Contact.NC][:1] == [False]
        assert made.edges_lost == 0
