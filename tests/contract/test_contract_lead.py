"""The vehicle lead by the contract, on a virtual and an emulated bare board, on one invented vehicle."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import replace

import pytest

from pulldrop.board.contract import Board
from pulldrop.board.errors import Refused
from pulldrop.board.serial import SerialBoard
from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.emulator.leaded import LeadPort
from pulldrop.model.raw import GROUND_SUMMED, LEAD_S, LEAD_SUMMED
from pulldrop.plant.bench.leaded import LeadBench
from pulldrop.plant.vehicle import stock
from pulldrop.plant.vehicle.lead import Placement
from pulldrop.plant.vehicle.vehicle import Vehicle
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

SEED = 9
BUS = fit(parse(stock.text("heritage-bus-12"), "heritage bus 12"), Vehicle)
ON_THE_SOCKET = Placement(
    clips={"X1": "plus", "X2": "cavity 30", "X3": "cavity 86", "X4": "cavity 85", "X5": "ring", "X6": "post"},
    positions={"blinds switch": "on"},
)


@pytest.fixture(params=["virtual", "emulated"])
def lead(request: pytest.FixtureRequest) -> Iterator[tuple[Board, LeadBench]]:
    """A board, and the bench on which its clips are."""
    with ExitStack() as stack:
        if request.param == "virtual":
            virtual = stack.enter_context(LeadBoard(BUS, SEED))
            board: Board = virtual
            bench = virtual.plant
        else:
            port = stack.enter_context(LeadPort(BUS, SEED))
            board = stack.enter_context(SerialBoard(port, "the emulator", port.clock, port.sleep, port.again))
            bench = port.machine.plant
        bench.lead.place(ON_THE_SOCKET, bench.time_s)
        board.wait(0.05)
        yield board, bench


def watched(board: Board, bench: LeadBench, count: int) -> list[tuple[float, ...]]:
    """Volts at the clips by a perfect divider and this board's own 5 V, nothing lost."""
    board.watch_lead()
    read: list[tuple[int, ...]] = []
    while len(read) < count:
        board.wait(0.01)
        told = board.read_lead(len(read))
        assert told.first == len(read)
        read += told.readings
    volts = bench.frontend.vcc_v / 1024 / LEAD_SUMMED * 112 / 12
    return [tuple(counts * volts for counts in one) for one in read]


def test_the_clips_read_what_the_vehicle_has(lead: tuple[Board, LeadBench]) -> None:
    board, bench = lead
    read = watched(board, bench, 50)
    truth = bench.lead.clip_v(bench.time_s)
    for clip in range(4):
        mean = sum(one[clip] for one in read) / len(read)
        assert mean == pytest.approx(truth[clip], abs=0.03 * truth[clip] + 0.3)
    assert min(truth[:3]) > 25 > 1 > truth[3]


def test_a_ground_reads_in_millivolts(lead: tuple[Board, LeadBench]) -> None:
    board, bench = lead
    lit = replace(ON_THE_SOCKET, clips={**ON_THE_SOCKET.clips, "X5": "body"}, bulb=("plus", "body"))
    for placement in (ON_THE_SOCKET, lit):
        bench.lead.place(placement, bench.time_s)
        board.wait(0.1)
        volts = board.sense_ground() / GROUND_SUMMED / 1024 * bench.lead.own_v
        assert volts == pytest.approx(bench.lead.clip_v(bench.time_s)[4], abs=0.009)


def test_a_pulse_of_0_3_ms_is_in_the_mean_of_its_readings(lead: tuple[Board, LeadBench]) -> None:
    board, bench = lead
    gone = replace(ON_THE_SOCKET, parted=frozenset({"fuse 7"}), bulb=("cavity 30", "post"))
    for placement, at in ((gone, 0.02), (replace(gone, parted=frozenset()), 0.0203)):
        bench.lead.place(placement, bench.time_s + at)
    read = [one[1] for one in watched(board, bench, 20)]
    level = read[0]
    assert sum(level - one for one in read) * LEAD_S == pytest.approx(level * 0.3e-3, rel=0.35)
    assert min(read) < 0.95 * level


def test_what_is_not_asked_for_in_time_is_lost_and_the_numbers_say_so(lead: tuple[Board, LeadBench]) -> None:
    board, _ = lead
    board.watch_lead()
    board.wait(0.4)
    told = board.read_lead(0)
    assert told.first == told.next - 63 > 60 and len(told.readings) == 6


def test_a_watch_ends_with_off_and_with_a_look_at_the_ground(lead: tuple[Board, LeadBench]) -> None:
    board, _ = lead
    ends: tuple[Callable[[], object], ...] = (board.off, board.sense_ground)
    for end in ends:
        board.watch_lead()
        assert board.read_lead(0).next < 5
        end()
        with pytest.raises(Refused) as refused:
            board.read_lead(0)
        assert refused.value.reason == "stopped"


def test_a_full_board_has_no_lead(board: Board) -> None:
    for asked in (board.sense_ground, board.watch_lead):
        with pytest.raises(Refused) as refused:
            asked()
        assert refused.value.reason == "build"


def test_a_host_that_says_nothing_for_the_lease_finds_its_watch_ended_and_may_begin_again() -> None:
    with LeadPort(BUS, SEED) as port, SerialBoard(port, "the emulator", port.clock, port.sleep, port.again) as board:
        board.watch_lead()
        port.sleep(0.45)
        assert board.read_lead(0).next > 150
        port.sleep(0.55)
        with pytest.raises(Refused) as refused:
            board.read_lead(0)
        assert refused.value.reason == "stopped"
        board.watch_lead()
        board.wait(0.02)
        assert board.read_lead(0).readings
