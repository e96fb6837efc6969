"""The virtual board behaves as the firmware does: ranges, trips, limits, captures; its time is simulated."""

from dataclasses import replace

import pytest
from broken_bench.boards import BrokenBoard
from broken_bench.effect import WHOLE, Effect
from plant_steps import code, specimen

from pulldrop.board.contract import Trip
from pulldrop.board.errors import Refused, Tripped
from pulldrop.board.request_types import Analog, Branch, Drive, Pulse, Scan, Stairs
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.model.raw import TICKS_PER_S, Contact, Line
from pulldrop.plant.bench.frontend import drawn

PULSE = Pulse(Contact.NO, Branch.A10, settle_ms=4, samples=3, limit_ms=100)


def on(volts: float = 12.0, **changed: object) -> Drive:
    return replace(Drive(dac=code(volts), on=True, on_ms=5000), **changed)  # type: ignore[arg-type]  # fields of Drive


def off(**changed: object) -> Drive:
    return on(0.0, on=False, **changed)


@pytest.fixture
def board() -> VirtualBoard:
    return VirtualBoard(specimen(), None)


def test_it_says_that_it_is_virtual_and_simulated(board: VirtualBoard) -> None:
    assert (board.identity.kind, board.identity.simulated, board.identity.serial) == ("virtual", True, 0)


def test_its_time_is_simulated(board: VirtualBoard) -> None:
    board.wait(3600.0)
    assert board.elapsed() == pytest.approx(3600.0)
    assert board.status().uptime_ms == pytest.approx(3_600_000, abs=2)


def test_the_coil_moves_the_contacts(board: VirtualBoard) -> None:
    board.hold_coil(off())
    assert board.status().contacts == Contact.NC
    board.hold_coil(on())
    board.wait(0.05)
    assert board.status().contacts == Contact.NO
    assert board.status().on


def test_a_step_is_logged_from_the_step_on_in_ticks_and_samples(board: VirtualBoard) -> None:
    capture = board.step_coil(on(13.5), window_ms=20, divider=2)
    assert capture.contacts_before == Contact.NC
    assert (len(capture.samples), capture.sample_ticks, capture.window_ticks) == (200, 200, 40_000)
    assert capture.samples[0] == 1 and capture.samples[-1] > 500
    assert [edge.tick for edge in capture.edges] == sorted(edge.tick for edge in capture.edges)
    first_no = next(edge for edge in capture.edges if edge.contact == Contact.NO)
    assert first_no.closed and 3 <= first_no.tick / TICKS_PER_S * 1e3 <= 7
    assert capture.edges[0].contact == Contact.NC and not capture.edges[0].closed


def test_a_capture_holds_360_samples_and_40_edges_at_most() -> None:
    lively = VirtualBoard(specimen(armature={"contact_damping_s_per_m": 0.1, "contact_g": 0.5}), None)
    lively.hold_coil(on())
    lively.wait(0.1)
    capture = lively.step_coil(off(), window_ms=40, divider=1)
    assert len(capture.samples) == 360
    assert len(capture.edges) == 40
    assert capture.edges_lost > 0


def test_ticks_follow_the_boards_own_resonator() -> None:
    perfect = VirtualBoard(specimen(), None).step_coil(on(13.5), 20, 2).edges[0].tick
    seed = next(seed for seed in range(50) if drawn(seed).tick > 0.003)
    skewed = VirtualBoard(specimen(armature={"friction_scatter": 0.0}), seed)
    volts = 13.5 / skewed._bench.frontend.coil_v(1843) * 13.4985
    counted = skewed.step_coil(on(volts), 20, 2).edges[0].tick
    assert counted / perfect == pytest.approx(1 + drawn(seed).tick, abs=1e-3)


def test_the_clamp_diode_makes_the_release_slow(board: VirtualBoard) -> None:
    ticks = []
    for diode in (False, True):
        board.hold_coil(on())
        board.wait(0.1)
        ticks.append(board.step_coil(off(diode=diode), 40, 4).edges[0].tick)
    assert ticks[1] > 3 * ticks[0]


def test_a_staircase_stops_at_the_step_where_the_contacts_come(board: VirtualBoard) -> None:
    up = Stairs(on(4.0), step=7, count=120, dwell_ms=50, watch=Contact.NO, wanted=Contact.NO)
    landing = board.staircase(replace(up, drive=on(4.0, on_ms=10_000)))
    assert landing.stopped and landing.contacts == Contact.NO
    assert landing.dac == up.drive.dac + 7 * landing.index
    assert landing.dac * 30 / 4096 == pytest.approx(6.3, abs=0.2)
    assert board.status().contacts == Contact.NO


def test_a_staircase_that_never_arrives_ends_at_its_last_step(board: VirtualBoard) -> None:
    landing = board.staircase(Stairs(on(1.0), 7, 10, 20, Contact.NO, Contact.NO))
    assert (landing.stopped, landing.index) == (False, 9)


def test_a_load_pulse_reads_drop_and_shunt_and_leaves_the_coil_as_it_was(board: VirtualBoard) -> None:
    board.hold_coil(on())
    board.wait(0.1)
    counts = board.load_pulse(PULSE)
    drop_v, load_a = counts.drop[0] * 0.256 / 32768, counts.shunt[0] * 0.256 / 32768 / 0.005
    assert 0.01 < drop_v < 0.05
    assert load_a == pytest.approx(10.0, rel=0.05)
    assert board.status().contacts == Contact.NO


def test_the_dry_source_alone_gives_5_milliamps(board: VirtualBoard) -> None:
    board.hold_coil(on())
    board.wait(0.1)
    counts = board.load_pulse(replace(PULSE, branches=Branch.NONE))
    assert counts.shunt[0] == pytest.approx(5e-3 * 0.005 / 0.256 * 32768, abs=1)


def test_sensed_volts_over_amps_are_the_coil_and_what_is_below_it(board: VirtualBoard) -> None:
    board.hold_coil(on())
    board.wait(0.2)
    counts = board.sense_coil()
    ohm = counts.bus * 1.25e-3 / (counts.shunt * 25e-6) - 0.87
    assert ohm == pytest.approx(85.0 * (234.5 + 23.0) / 254.5, rel=1e-3)


def test_slow_channels_are_sums_of_16(board: VirtualBoard) -> None:
    assert board.sense_analog(Analog.LOAD_SUPPLY) == pytest.approx(16 * 12.0 * 2.7 / 12.7 / 5 * 1024, rel=0.01)
    assert board.sense_analog(Analog.COIL_CURRENT) == 16
    assert 0 < board.sense_analog(Analog.BENCH_TEMPERATURE) < 16 * 1023


@pytest.mark.parametrize(
    "bad",
    [
        lambda board: board.hold_coil(on(dac=4096)),
        lambda board: board.hold_coil(on(on_ms=0)),
        lambda board: board.hold_coil(on(on_ms=60_001)),
        lambda board: board.hold_coil(on(limit=1001)),
        lambda board: board.step_coil(on(), window_ms=0, divider=1),
        lambda board: board.step_coil(on(), window_ms=201, divider=1),
        lambda board: board.step_coil(on(), window_ms=20, divider=101),
        lambda board: board.staircase(Stairs(on(20.0), 7, 500, 20, Contact.NO, Contact.NO)),
        lambda board: board.load_pulse(replace(PULSE, throw=Contact.NONE)),
        lambda board: board.load_pulse(replace(PULSE, samples=13)),
        lambda board: board.load_pulse(replace(PULSE, limit_ms=501)),
        lambda board: board.load_pulse(replace(PULSE, gain=0)),
    ],
)
def test_what_is_out_of_range_is_refused_and_moves_nothing(board: VirtualBoard, bad: object) -> None:
    with pytest.raises(Refused) as refused:
        bad(board)  # type: ignore[operator]  # one of the requests above
    assert refused.value.reason == "argument"
    assert not board.status().on


def test_too_much_coil_current_trips_after_a_millisecond_and_stays_latched() -> None:
    board = VirtualBoard(specimen(suppression={"kind": "diode", "reversed": True}), None)
    board.hold_coil(on(1.0, limit=300))
    began = board.elapsed()
    with pytest.raises(Tripped) as tripped:
        board.wait(0.1)
    assert tripped.value.trip is Trip.OVER_CURRENT
    assert 1e-3 <= board.elapsed() - began < 2e-3
    status = board.status()
    assert (status.trip, status.on) == (Trip.OVER_CURRENT, False)
    with pytest.raises(Tripped):
        board.hold_coil(on())
    board.acknowledge()
    board.hold_coil(off())


def test_current_below_the_limit_does_not_trip(board: VirtualBoard) -> None:
    board.hold_coil(on(12.0, limit=520))
    board.wait(1.0)
    assert board.status().on
    with pytest.raises(Tripped):
        board.hold_coil(on(12.0, limit=400))
        board.wait(0.01)


def test_a_coil_left_on_longer_than_asked_is_turned_off_and_that_is_a_trip(board: VirtualBoard) -> None:
    board.hold_coil(on(on_ms=200))
    board.wait(0.19)
    with pytest.raises(Tripped) as tripped:
        board.wait(0.05)
    assert tripped.value.trip is Trip.ON_TIME
    assert not board.status().on


def test_the_dry_sources_alone_go_off_without_a_trip(board: VirtualBoard) -> None:
    board.hold_coil(off(on_ms=100))
    board.wait(0.2)
    status = board.status()
    assert (status.trip, status.contacts) == (Trip.NONE, Contact.NONE)


def test_the_emergency_stop_turns_everything_off_and_stays_until_acknowledged(board: VirtualBoard) -> None:
    board.hold_coil(on())
    board.open_stop()
    status = board.status()
    assert (status.trip, status.on, status.emergency_stop) == (Trip.EMERGENCY_STOP, False, True)
    with pytest.raises(Tripped):
        board.acknowledge()
    board.open_stop(False)
    with pytest.raises(Tripped):
        board.hold_coil(on())
    board.acknowledge()
    board.hold_coil(on())


def test_nothing_is_energised_after_a_scan_that_may_still_be_on() -> None:
    """As on the firmware, whose ports did not hear that it is over."""
    board = BrokenBoard(specimen(), None)
    board.break_wires(Effect(deaf=frozenset({"scan", "ports"})))
    board.hold_coil(on())
    board.off()
    for refused in (lambda: board.scan(Scan(Line.T85, Line.T86)), lambda: board.hold_coil(on())):
        with pytest.raises(Refused):
            refused()
    board.break_wires(WHOLE)
    board.hold_coil(on())


def test_a_load_pulse_ends_at_its_own_limit(board: VirtualBoard) -> None:
    board.hold_coil(on())
    board.wait(0.1)
    with pytest.raises(Refused) as refused:
        board.load_pulse(replace(PULSE, samples=12, limit_ms=20))
    assert refused.value.reason == "stopped"
    assert not board._bench.pins.branches
    assert board.status().trip is Trip.NONE


def test_loads_of_more_than_a_tenth_of_ten_seconds_are_refused_until_later(board: VirtualBoard) -> None:
    board.hold_coil(on(on_ms=60_000))
    board.wait(0.1)
    for _ in range(3):
        board.load_pulse(replace(PULSE, settle_ms=200, samples=12, limit_ms=300))
        board.wait(1.0)
    with pytest.raises(Refused) as refused:
        board.load_pulse(replace(PULSE, limit_ms=500))
    assert refused.value.reason == "duty"
    board.load_pulse(replace(PULSE, branches=Branch.NONE, limit_ms=500))
    board.wait(11.0)
    board.load_pulse(replace(PULSE, limit_ms=500))


def test_leaving_the_board_turns_everything_off() -> None:
    with VirtualBoard(specimen(), None) as board:
        board.hold_coil(on())
    assert not board._bench.pins.coil
