"""The terminal scan on every board and build: one suite, and both kinds give the same counts.

The part is a sound 12 V changeover relay at rest: 30 and 87a joined, 87 open, some 87 ohm from 86 to 85.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from itertools import permutations

import pytest
from opened import opened
from orders import ZERO

from pulldrop.board.contract import Board, Trip
from pulldrop.board.errors import Refused
from pulldrop.board.request_types import DAC_MAX, Analog, Branch, Drive, Pulse, Scan, Stairs
from pulldrop.model.raw import Contact, Line, ScanCounts

RELAY = (Line.T85, Line.T86, Line.T87, Line.T87A, Line.T30)
FULL, BARE = ("virtual", "emulated"), ("virtual-bare", "emulated-bare")
EVENING = ("virtual-evening", "emulated-evening")
LOOK_V, DRIVEN_A, SUNK_A, BARE_V = 6.144 / 32768, 0.512 / 32768 / 100, 0.256 / 32768 / 100, 5 / 16384
COIL = Scan(Line.T86, Line.T85)
ON = Drive(dac=1843, on=True, on_ms=2000)
OFF = Drive(dac=0, on=False, on_ms=2000)
FEEDING: dict[str, Callable[[Board], object]] = {
    "hold_coil": lambda b: b.hold_coil(ON),
    "step_coil": lambda b: b.step_coil(ON, window_ms=20, divider=1),
    "staircase": lambda b: b.staircase(Stairs(ON, 0, 1, 10, Contact.NO, Contact.NO)),
    "load_pulse": lambda b: b.load_pulse(Pulse(Contact.NC, Branch.A1, settle_ms=5, samples=1, limit_ms=60)),
    "sense_coil": lambda b: b.sense_coil(),
    "load supply": lambda b: b.sense_analog(Analog.LOAD_SUPPLY),
}


@pytest.fixture(scope="module", params=["virtual", "emulated"])
def kind(request: pytest.FixtureRequest) -> str:
    """Of all three builds in one test."""
    return str(request.param)


@pytest.fixture(scope="module")
def full(kind: str) -> Iterator[Board]:
    """The full build."""
    with ExitStack() as stack:
        yield opened(kind, stack)[0]


@pytest.fixture(scope="module")
def bare(kind: str) -> Iterator[Board]:
    """The bare build."""
    with ExitStack() as stack:
        yield opened(f"{kind}-bare", stack)[0]


@pytest.fixture(scope="module")
def evening(kind: str) -> Iterator[Board]:
    """The evening build, which looks at the coil alone."""
    with ExitStack() as stack:
        yield opened(f"{kind}-evening", stack)[0]


def test_a_board_says_which_build_it_is(full: Board, bare: Board, evening: Board) -> None:
    builds = [board.identity.build for board in (full, bare, evening)]
    assert builds == ["full", "bare", "evening"]
    assert [board.identity.load_supply for board in (full, bare, evening)] == [True, False, True]


def test_a_full_build_sees_the_coil_one_way_round(full: Board) -> None:
    counts = full.scan(Scan(Line.T86, Line.T85))
    across = (counts.source - counts.sink) * LOOK_V
    assert across / (counts.sunk * SUNK_A) == pytest.approx(87, rel=0.03)
    assert counts.supply * LOOK_V == pytest.approx(5, rel=0.05)


def test_and_the_other_way_round(full: Board) -> None:
    counts = full.scan(Scan(Line.T85, Line.T86))
    across = (counts.source - counts.sink) * LOOK_V
    assert across / (-counts.driven * DRIVEN_A) == pytest.approx(87, rel=0.03)


def test_a_full_build_sees_the_closed_throw_and_the_open_one_against_its_ground(full: Board) -> None:
    closed, still_open = full.scan(Scan(Line.T87A, Line.T30)), full.scan(Scan(Line.T87, Line.T30))
    assert closed.source * LOOK_V < 0.01
    assert 3.5e-3 < -closed.driven * DRIVEN_A < 5e-3
    assert still_open.source * LOOK_V > 4.5
    assert abs(still_open.driven * DRIVEN_A) < 3e-6


def test_a_third_terminal_shows_what_it_is_joined_to(full: Board, bare: Board) -> None:
    on_full = full.scan(Scan(Line.T85, Line.T30, look=Line.T86))
    assert 0.1 < on_full.look * LOOK_V < on_full.source * LOOK_V
    on_bare = bare.scan(Scan(Line.T30, Line.T85, look=Line.T87A))
    assert abs(on_bare.look - on_bare.source) < 16 * 2
    assert on_bare.source > 16_000


def test_without_a_source_nothing_is_driven(full: Board, bare: Board) -> None:
    dark = full.scan(Scan(Line.NONE, Line.T85))
    assert abs(dark.driven) < ZERO and abs(dark.sunk) < ZERO and abs(dark.sink) < 20
    assert bare.scan(Scan(Line.NONE, Line.T85)).sink < 16 * 2


def test_both_ends_of_a_full_build_on_one_line_are_over_range(full: Board) -> None:
    for line in RELAY[:-1]:
        counts = full.scan(Scan(line, line))
        assert (counts.driven, counts.sunk) == (-32768, 32767)


def test_a_bare_board_sees_the_coil_both_ways_round(bare: Board) -> None:
    for source, sink in ((Line.T86, Line.T85), (Line.T85, Line.T86)):
        counts = bare.scan(Scan(source, sink))
        amps = (5 - counts.source * BARE_V) / 245
        assert (counts.source - counts.sink) * BARE_V / amps == pytest.approx(87, rel=0.05)


def test_a_bare_board_sees_every_ordered_pair_joined_as_it_is(bare: Board) -> None:
    joined = set()
    for source, sink in permutations(RELAY, 2):
        counts = bare.scan(Scan(source, sink))
        if counts.source < 15_000:
            joined.add((source, sink))
    assert joined == {(Line.T85, Line.T86), (Line.T86, Line.T85), (Line.T30, Line.T87A), (Line.T87A, Line.T30)}


def test_a_weak_source_gives_way_to_the_coil_and_not_to_an_open_pair(bare: Board) -> None:
    assert bare.scan(Scan(Line.T86, Line.T85, weak=True)).source < 300
    assert bare.scan(Scan(Line.T87, Line.T30, weak=True)).source > 16_300


def test_after_a_scan_everything_is_off(full: Board, bare: Board, evening: Board) -> None:
    for board, scan in ((full, Scan(Line.T87A, Line.T30)), (bare, Scan(Line.T87A, Line.T30)), (evening, COIL)):
        board.scan(scan)
        status = board.status()
        assert (status.on, status.trip, status.contacts) == (False, Trip.NONE, Contact.NONE)


def test_a_scan_is_refused_while_the_coil_is_on_and_the_coil_stays_on(full: Board) -> None:
    full.hold_coil(ON)
    with pytest.raises(Refused) as refused:
        full.scan(Scan(Line.T86, Line.T85))
    assert refused.value.reason == "energised"
    assert full.status().on
    full.off()
    assert full.scan(Scan(Line.T87A, Line.T30)).driven < -10_000


def test_a_look_is_refused_while_the_coil_is_on_and_the_coil_stays_on(evening: Board) -> None:
    evening.hold_coil(Drive(DAC_MAX, on=True, on_ms=2000))
    with pytest.raises(Refused) as refused:
        evening.scan(COIL)
    assert refused.value.reason == "energised"
    assert evening.status().on
    evening.off()
    assert 10 < evening.scan(COIL).driven * 25e-3 < 20, "mA"


def test_a_look_does_not_see_the_supply_left_on_behind_an_open_switch(evening: Board) -> None:
    alone = numbers(evening.scan(COIL))
    evening.hold_coil(Drive(DAC_MAX, on=False, on_ms=2000))
    after = numbers(evening.scan(COIL))
    assert all(abs(after[name] - alone[name]) <= 8 for name in alone)
    assert not evening.status().supplied


def test_a_scan_does_not_see_the_coil_supply_left_on_behind_an_open_switch(full: Board) -> None:
    full.hold_coil(Drive(dac=1843, on=False, on_ms=2000))
    assert abs(full.scan(Scan(Line.NONE, Line.T85, look=Line.T86)).look) < 30
    full.off()


@pytest.mark.parametrize("call", FEEDING.values(), ids=FEEDING)
def test_a_bare_board_refuses_what_needs_coil_supply_or_load(bare: Board, call: Callable[[Board], object]) -> None:
    with pytest.raises(Refused) as refused:
        call(bare)
    assert refused.value.reason == "build"
    assert not bare.status().on


def test_a_bare_board_has_its_thermistor(bare: Board) -> None:
    assert 16 * 400 < bare.sense_analog(Analog.BENCH_TEMPERATURE) < 16 * 640


@pytest.mark.parametrize(
    ("build", "scan", "reason"),
    [
        ("bare", Scan(Line.T85, Line.T85), "argument"),
        ("full", Scan(Line.T30, Line.T85), "build"),
        ("full", Scan(Line.T85, Line.T86, weak=True), "build"),
        ("bare", Scan(Line.T30, Line.T30), "argument"),
        ("bare", Scan(Line.LEAD_1, Line.T30), "build"),
        ("bare", Scan(Line.T85, Line.T30, look=Line.LEAD_4), "build"),
        ("evening", Scan(Line.T87A, Line.T30), "build"),
        ("evening", Scan(Line.T86, Line.T85, weak=True), "build"),
        ("evening", Scan(Line.NONE, Line.T85, look=Line.T86), "build"),
        ("evening", Scan(Line.LEAD_1, Line.T30), "build"),
    ],
)
def test_what_a_build_cannot_scan_is_refused(
    full: Board, bare: Board, evening: Board, build: str, scan: Scan, reason: str
) -> None:
    with pytest.raises(Refused) as refused:
        {"full": full, "bare": bare, "evening": evening}[build].scan(scan)
    assert refused.value.reason == reason


def numbers(counts: ScanCounts) -> dict[str, int]:
    return {name: getattr(counts, name) for name in ("driven", "sunk", "source", "sink", "look", "supply")}


@pytest.mark.parametrize(("kinds", "tolerance"), [(FULL, 8), (BARE, 16), (EVENING, 8)])
def test_both_boards_see_the_same_counts(kinds: tuple[str, str], tolerance: int) -> None:
    # noise: one count of the ADS1115, five standard deviations of two; 0.4 counts in each of 16 of the Nano's, the same
    pairs = [(a, b) for a, b in permutations(RELAY, 2) if kinds == BARE or a is not Line.T30]
    scans = [COIL] if kinds == EVENING else [Scan(a, b, look=Line.T85) for a, b in pairs]
    told = []
    for kind in kinds:
        with ExitStack() as stack:
            board = opened(kind, stack)[0]
            told.append([numbers(board.scan(scan)) for scan in scans])
    apart = [
        (scan, name, one[name], other[name])
        for scan, one, other in zip(scans, *told, strict=True)
        for name in one
        if abs(one[name] - other[name]) > tolerance
    ]
    assert apart == []
