"""What both boards of an evening build answer beyond test_contract.py: one supply, a main relay, one load, a look.

The part is a sound 12 V changeover relay. Each test starts with everything off and no trip latched.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from statistics import fmean

import pytest
from opened import Stop, opened
from orders import BOTH, MS, first

from pulldrop.board.contract import Board, Trip
from pulldrop.board.errors import Refused, Tripped
from pulldrop.board.request_types import DAC_MAX, Branch, Drive, Follow, Load, Pulse, Scan, Stairs, Watch
from pulldrop.board.serial import SerialBoard
from pulldrop.model.raw import Capture, Contact, Line
from pulldrop.plant.bench.evening import EveningBench, Turn
from pulldrop.plant.bench.feeds import LIMIT_S

ON, OFF = Drive(DAC_MAX, on=True, on_ms=3000), Drive(0, on=False, on_ms=3000)
PULSE = Pulse(Contact.NO, Branch.A10, settle_ms=5, samples=4, limit_ms=60)
LOOK = Scan(Line.T86, Line.T85)
Held = tuple[Board, Stop, EveningBench]


def plant_of(board: Board) -> EveningBench:
    bench = board._link._port.machine.plant if isinstance(board, SerialBoard) else board.plant  # type: ignore[attr-defined]
    assert isinstance(bench, EveningBench)
    return bench


@pytest.fixture(scope="module", params=["virtual-evening", "emulated-evening"])
def held(request: pytest.FixtureRequest) -> Iterator[Held]:
    with ExitStack() as stack:
        board, stop = opened(request.param, stack)
        yield board, stop, plant_of(board)


@pytest.fixture
def board(held: Held) -> Board:
    board, stop, bench = held
    stop(False)
    board.off()
    if board.status().trip is not Trip.NONE:
        board.acknowledge()
    bench.set_knob(None)
    board.wait(0.03)
    return board


@pytest.fixture
def bench(held: Held) -> EveningBench:
    return held[2]


AMPS = 0.256 / 32768 / 0.005
"""Per count of the load shunt."""


def volts(bus: int) -> float:
    return bus * 1.25e-3


def operated(board: Board) -> None:
    board.hold_coil(ON)
    board.wait(0.05)


def test_it_says_what_it_is_and_what_it_can_do(board: Board) -> None:
    who = board.identity
    assert (who.simulated, who.build, who.load_supply) == (True, "evening", True)
    assert who.able.coil == "by hand" and who.able.loads_a == (10.0,)


def test_the_coil_has_the_volts_of_the_supply(board: Board) -> None:
    operated(board)
    counts = board.sense_coil()
    assert 11.0 < volts(counts.bus) < 13.5
    assert 60 < volts(counts.bus) / (counts.shunt * 25e-6) < 120


def test_a_look_gives_the_ohms_of_the_coil_at_a_few_ma(board: Board) -> None:
    """Both shunts of the same bench, so its error of one per cent drops out."""
    operated(board)
    held = board.sense_coil()
    board.off()
    looked = board.scan(LOOK)
    assert 10 < looked.driven * 25e-3 < 20, "mA"
    assert volts(looked.source) < 3
    assert looked.source / looked.driven == pytest.approx(held.bus / held.shunt, rel=0.03)


@pytest.mark.parametrize(
    "scan", [Scan(Line.T85, Line.T86), Scan(Line.T87, Line.T30), Scan(Line.T86, Line.T85, Line.T87)]
)
def test_it_looks_at_nothing_else(board: Board, scan: Scan) -> None:
    with pytest.raises(Refused) as refused:
        board.scan(scan)
    assert refused.value.reason == "build"


def test_the_main_relay_stays_closed_while_the_coil_lets_go(board: Board) -> None:
    """Else the supply's end would be the step: the low end stands at the supply's volts when the spike is over."""
    operated(board)
    spike = board.step_coil(Drive(0, on=False, on_ms=3000), window_ms=18, divider=1, low_side=True)
    assert fmean(spike.samples[-20:]) * 4.875 / 1024 * 104.7 / 4.7 == pytest.approx(12.2, rel=0.12)


def test_both_throws_are_loaded_with_10_a(board: Board) -> None:
    board.hold_coil(OFF)
    board.wait(0.03)
    nc = board.load_pulse(Pulse(Contact.NC, Branch.A10, settle_ms=5, samples=4, limit_ms=60))
    assert not board.status().supplied, "its main relay opens after a load of its own"
    operated(board)
    no = board.load_pulse(PULSE)
    for counts in (no, nc):
        assert all(8.5 < count * 0.256 / 32768 / 0.005 < 10.5 for count in counts.shunt)
        assert all(0.002 < count * 0.256 / 32768 < 0.1 for count in counts.drop)


NOT_BUILT: dict[str, Callable[[Board], object]] = {
    "other volts": lambda b: b.hold_coil(Drive(1800, on=True, on_ms=100)),
    "no volts": lambda b: b.hold_coil(Drive(0, on=True, on_ms=100)),
    "a clamp": lambda b: b.hold_coil(Drive(DAC_MAX, on=True, on_ms=100, diode=True)),
    "a step to other volts": lambda b: b.step_coil(Drive(1800, on=True, on_ms=100), 20, 1),
    "another load": lambda b: b.load_pulse(Pulse(Contact.NC, Branch.A5, settle_ms=5, samples=2, limit_ms=60)),
    "more load": lambda b: b.hot_step(ON, Load(Contact.NO, Branch.A20, limit_ms=60), 20, 1),
    "a staircase": lambda b: b.staircase(Stairs(ON, 0, 1, 20, BOTH, Contact.NO)),
    "a load that is watched": lambda b: b.watch_load(Watch(Contact.NO, Branch.NONE, 40)),
}


@pytest.mark.parametrize("call", NOT_BUILT.values(), ids=NOT_BUILT)
def test_what_it_has_not_is_refused_and_nothing_moves(board: Board, call: Callable[[Board], object]) -> None:
    with pytest.raises(Refused) as refused:
        call(board)
    assert refused.value.reason == "build"
    assert not board.status().on and not board.status().supplied


def test_a_coil_that_is_on_for_too_long_trips_and_its_main_relay_opens(board: Board) -> None:
    board.hold_coil(Drive(DAC_MAX, on=True, on_ms=60))
    with pytest.raises(Tripped) as tripped:
        board.wait(0.2)
    assert tripped.value.trip is Trip.ON_TIME
    assert not board.status().supplied


def test_a_step_whose_time_is_over_before_the_main_relay_closed_is_not_made(board: Board) -> None:
    with pytest.raises(Refused) as refused:
        board.step_coil(Drive(DAC_MAX, on=True, on_ms=10), 20, 1)
    assert refused.value.reason == "stopped"
    assert not board.status().on


def test_the_emergency_stop_turns_everything_off(board: Board, held: Held) -> None:
    operated(board)
    held[1](True)
    with pytest.raises(Tripped) as tripped:
        board.wait(0.05)
    assert tripped.value.trip is Trip.EMERGENCY_STOP
    assert not board.status().supplied
    held[1](False)
    board.acknowledge()


def turned(board: Board, bench: EveningBench, start: float, end: float, wanted: Contact) -> tuple[float, float]:
    """Volts at the first edge of the throw that ends it, and volts a second there; turned again where the edge fell
    between two looks."""
    for _ in range(3):
        bench.set_knob(start)
        board.wait(0.3)
        bench.turn_knob(end)
        if found := followed(board, wanted):
            return found
    raise AssertionError("every edge fell between two looks")


def followed(board: Board, wanted: Contact) -> tuple[float, float] | None:
    """The same of one turn; None where the edge fell between two looks."""
    for _ in range(100):
        found = board.follow_coil(Follow(BOTH, wanted, window_ms=300))
        if found.contacts == wanted and not found.restless:
            if not found.edges:
                return None
            tick = min(edge.tick for edge in found.edges)
            rate = volts(found.bus[-1] - found.bus[0]) / found.span_ms * 1000
            return volts(found.bus[-1]) - rate * (found.last_ms / 1000 - tick / MS / 1000), rate
    raise AssertionError("it never moved")


def test_a_coil_that_is_turned_by_hand_says_its_volts_where_the_contacts_move(
    board: Board, bench: EveningBench
) -> None:
    bench.set_knob(0.0)
    board.hold_coil(ON)
    board.wait(0.05)
    assert volts(board.sense_coil().bus) < 0.2 and board.status().contacts == Contact.NC
    up_v, up_rate = turned(board, bench, 0.0, 15.0, Contact.NO)
    assert 4.0 < up_v < 8.5 and 0.1 < up_rate < 4
    down_v, down_rate = turned(board, bench, 15.0, 0.0, Contact.NC)
    assert 0.8 < down_v < 5.0 and -4 < down_rate < -0.1


def test_a_coil_that_is_off_is_not_followed(board: Board) -> None:
    with pytest.raises(Refused) as refused:
        board.follow_coil(Follow(BOTH, Contact.NO))
    assert refused.value.reason == "stopped"


def test_following_tells_that_nothing_moved_when_its_window_is_over(board: Board) -> None:
    operated(board)
    found = board.follow_coil(Follow(BOTH, Contact.NC, window_ms=50))
    assert found.contacts == Contact.NO and 47 <= found.last_ms < 60 and len(found.bus) == len(found.shunt) == 8


def test_its_main_relay_never_made_a_current(bench: EveningBench) -> None:
    """The last of this file: over all that was done before."""
    assert bench.made_by_relay == 0


# --- both boards ---

US = {"nc opens": 40, "no closes": 40, "no opens": 40, "nc closes": 40}
COUNTS = {"bus": 5, "shunt": 5, "drop no": 4, "load no": 8, "drop nc": 4, "load nc": 8, "look bus": 4, "look shunt": 4}


def answers(board: Board, bench: EveningBench) -> dict[str, float]:
    told: dict[str, float] = {}

    def us(capture: Capture, throw: Contact, closed: bool) -> float:
        return first(capture, throw, closed).tick / 2

    looks = [board.scan(LOOK) for _ in range(2)]
    told["look bus"], told["look shunt"] = fmean(x.source for x in looks), fmean(x.driven for x in looks)
    board.hold_coil(OFF)
    board.wait(0.06)
    up = board.step_coil(ON, 20, 1)
    told["nc opens"], told["no closes"] = us(up, Contact.NC, False), us(up, Contact.NO, True)
    board.wait(0.06)
    told["bus"], told["shunt"] = board.sense_coil().bus, board.sense_coil().shunt
    no = board.load_pulse(PULSE)
    down = board.step_coil(OFF, 20, 1)
    told["no opens"], told["nc closes"] = us(down, Contact.NO, False), us(down, Contact.NC, True)
    board.wait(0.06)
    nc = board.load_pulse(Pulse(Contact.NC, Branch.A10, settle_ms=5, samples=4, limit_ms=60))
    for throw, counts in (("no", no), ("nc", nc)):
        told[f"drop {throw}"], told[f"load {throw}"] = fmean(counts.drop), fmean(counts.shunt)
    bench.set_knob(0.0)
    board.hold_coil(ON)
    bench._knob = Turn(0.0, 15.0, board.elapsed() + 0.5, 1.0, ())
    told["pull-in"] = followed(board, Contact.NO)[0]
    return told


def test_both_boards_give_the_same_answers(open_board: Callable[[str], Board]) -> None:
    virtual, emulated = (
        answers(board, plant_of(board)) for board in map(open_board, ("virtual-evening", "emulated-evening"))
    )
    apart = {name: abs(virtual[name] - emulated[name]) for name in virtual}
    assert {name: most for name, most in (US | COUNTS).items() if apart[name] > most} == {}, apart
    assert apart["pull-in"] < 0.03


def test_its_one_load_is_cut_by_the_hardware_and_counts_as_load(board: Board, bench: EveningBench) -> None:
    board.wait(10.3)
    watched = board.watch_load(Watch(Contact.NC, Branch.A10, 950))
    assert 8.0 < watched.first * AMPS < 11.5 and abs(watched.last) * AMPS < 0.05
    assert watched.cut_ms == pytest.approx(1000 * LIMIT_S, abs=20)
    assert not board.status().on and not board.status().supplied and bench.made_by_relay == 0
    with pytest.raises(Refused) as refused:
        board.load_pulse(PULSE)
    assert refused.value.reason == "duty"
    board.wait(10.3)


def test_an_open_throw_is_watched_and_carries_nothing(board: Board) -> None:
    watched = board.watch_load(Watch(Contact.NO, Branch.A10, 40))
    assert abs(watched.first) * AMPS < 0.05 and not board.status().supplied
