"""What a serial board sends and believes, as exact dialogues: greeting, requests, answers, refusals."""

from collections.abc import Callable

import pytest
from scripted_port import DRIVE, GREETING, KIND_AT, ON, ScriptedPort, opened, talk

from pulldrop.board.contract import Trip
from pulldrop.board.errors import NoBoard, Refused, Tripped, WrongBoard
from pulldrop.board.request_types import Analog, Branch, Drive, Load, Pulse, Stairs
from pulldrop.board.serial import SerialBoard
from pulldrop.model.raw import Contact, Edge
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result


def test_the_bytes_of_a_status_request_are_these() -> None:
    """Written by hand from the frame's rules, CRC included, so that the wire itself cannot drift."""
    port = ScriptedPort().status().closing()
    talk(port, SerialBoard.status)
    assert port.writes[5][1] == bytes.fromhex("00 c1 d0 c8 fd d1 f0 00")


def test_a_board_says_who_it_is() -> None:
    port = ScriptedPort().closing()
    with opened(port) as board:
        identity = board.identity
    assert (identity.kind, identity.simulated, identity.serial, identity.firmware) == ("real", False, 42, "0.1.0")
    assert (identity.reset_cause, identity.port, identity.load_supply) == ("power on", "COM7", True)
    assert identity.dac_address == "0x62"
    port.finish()


@pytest.mark.parametrize(("kind", "real"), [(0x52, True), (0x53, False), (0xFF, False), (0, False)])
def test_only_a_board_named_real_is_believed_to_be_real(kind: int, real: bool) -> None:
    port = ScriptedPort(greeted=False).host(wire.GREET).greets(*GREETING[:KIND_AT], kind, *GREETING[KIND_AT + 1 :])
    port.host(wire.SENSE_ANALOG, 2).board(8360).closing()
    with opened(port) as board:
        assert board.identity.simulated is not real
        assert board.identity.kind == ("real" if real else "emulated")


def test_a_board_without_load_supply_says_so() -> None:
    port = ScriptedPort(greeted=False).host(wire.GREET).greets().host(wire.SENSE_ANALOG, 2).board(40).closing()
    with opened(port) as board:
        assert not board.identity.load_supply


def test_a_nano_that_starts_slowly_is_greeted_until_it_answers() -> None:
    port = ScriptedPort(greeted=False)
    for _ in range(8):
        port.host(wire.GREET)
    port.greets().host(wire.SENSE_ANALOG, 2).board(8360).closing()
    talk(port)


def test_the_babble_of_a_boot_loader_does_not_hide_the_greeting() -> None:
    port = ScriptedPort(greeted=False).host(wire.GREET).bytes(b"\xf8\x00\x1c\xe0optiboot\xff" * 9)
    port.host(wire.GREET).greets().host(wire.SENSE_ANALOG, 2).board(8360).closing()
    talk(port)


def test_a_port_where_nothing_answers_is_no_board() -> None:
    port = ScriptedPort(greeted=False)
    for _ in range(12):
        port.host(wire.GREET)
    with pytest.raises(NoBoard, match=r"Nothing at COM7 answered within 3 s\. Check the USB cable"):
        opened(port)
    assert 3.0 <= port.clock.now - 100.0 < 3.3
    port.finish()


def test_something_that_only_babbles_is_the_wrong_board() -> None:
    port = ScriptedPort(greeted=False)
    for _ in range(12):
        port.host(wire.GREET).bytes(b"$GPGGA,123519\r\n\x00")
    with pytest.raises(WrongBoard, match="sends bytes, but does not answer as a pulldrop board"):
        opened(port)
    port.finish()


def test_a_board_of_another_schema_is_refused_with_both_hashes() -> None:
    port = ScriptedPort(greeted=False).host(wire.GREET).board(0xDEADBEEF, *GREETING[1:])
    with pytest.raises(
        WrongBoard, match=rf"0x{wire.SCHEMA_HASH:08x} was expected, 0xdeadbeef found.*pulldrop board flash"
    ):
        opened(port)
    port.finish()


def test_status_tells_what_the_board_is_doing() -> None:
    port = ScriptedPort().status(trip=2, outputs=1 << 4, contacts=1, stop=1, uptime_ms=7777, bad_frames=3).closing()
    (status,) = talk(port, SerialBoard.status)
    assert (status.trip, status.on, status.contacts) == (Trip.EMERGENCY_STOP, True, Contact.NO)
    assert (status.emergency_stop, status.uptime_ms, status.bad_frames) == (True, 7777, 3)


@pytest.mark.parametrize(("outputs", "on"), [(0, False), (1, True), (1 << 2, True), (1 << 5, True), (0x3C2, False)])
def test_only_coil_and_load_count_as_on(outputs: int, on: bool) -> None:
    port = ScriptedPort().status(outputs=outputs).closing()
    (status,) = talk(port, SerialBoard.status)
    assert status.on is on


@pytest.mark.parametrize(
    ("outputs", "fed"),
    [(1 << 8, Contact.NO), (1 << 9, Contact.NC), (1 << 7 | 1 << 2, Contact.NC), (3 << 6, Contact(0))],
)
def test_a_throw_is_fed_by_its_dry_source_or_by_a_load(outputs: int, fed: Contact) -> None:
    port = ScriptedPort().status(outputs=outputs).closing()
    assert [status.fed for status in talk(port, SerialBoard.status)] == [fed]


def test_a_step_is_captured_with_all_its_edges_and_samples() -> None:
    samples = [*range(100, 130)]
    port = ScriptedPort().host(wire.STEP_COIL, *ON, 20, 2, 0).board(2, 14, 1, 0, 30, 9).status()
    port.host(wire.READ_EDGES, 0).board(9, [1 << 30 | 5200, *[1 << 31 | 7000 + i for i in range(11)]])
    port.host(wire.READ_EDGES, 12).board(9, [1 << 31 | 1 << 30 | 6000, 6001])
    port.host(wire.READ_SAMPLES, 0).board(9, samples[:25]).host(wire.READ_SAMPLES, 25).board(9, samples[25:])
    port.status().closing()
    (capture,) = talk(port, lambda board: board.step_coil(DRIVE, window_ms=20, divider=2))
    assert capture.contacts_before == Contact.NC
    assert capture.edges[:4] == (
        Edge(tick=5200, contact=Contact.NC, closed=False),
        Edge(tick=6000, contact=Contact.NC, closed=True),
        Edge(tick=6001, contact=Contact.NO, closed=False),
        Edge(tick=7000, contact=Contact.NO, closed=True),
    )
    assert (len(capture.edges), capture.edges_lost, capture.samples) == (14, 1, tuple(samples))
    assert (capture.sample_ticks, capture.window_ticks) == (200, 40_000)


def test_a_staircase_says_where_it_landed() -> None:
    """Only the watched throws were waited for, so only they are told."""
    stairs = Stairs(DRIVE, step=-7, count=200, dwell_ms=50, watch=Contact.NO, wanted=Contact.NONE)
    port = ScriptedPort().host(wire.STAIRCASE, 1638, 0, 3, 500, 600, -7, 200, 50, 1, 0).board(1, 3, 1617, 2, 0)
    (landing,) = talk(port.status().closing(), lambda board: board.staircase(stairs))
    assert (landing.stopped, landing.index, landing.dac, landing.contacts) == (True, 3, 1617, Contact.NONE)


def test_a_load_pulse_gives_drop_and_shunt() -> None:
    pulse = Pulse(Contact.NO, Branch.A10 | Branch.A1, settle_ms=5, samples=2, limit_ms=60, gain=4)
    port = ScriptedPort().host(wire.LOAD_PULSE, 1, 5, 5, 2, 60, 4).board([3000, -1], [6400, 6401]).status().closing()
    (counts,) = talk(port, lambda board: board.load_pulse(pulse))
    assert (counts.drop, counts.shunt, counts.gain) == ((3000, -1), (6400, 6401), 4)


def test_a_hot_step_gives_its_capture_and_the_pair_of_its_load() -> None:
    load = Load(Contact.NO, Branch.A10, limit_ms=60, gain=1)
    port = ScriptedPort().host(wire.HOT_STEP, *ON, 20, 2, 1, 4, 60, 1).board(2, 1, 0, 0, 2, 9, 90, 6300).status()
    port.host(wire.READ_EDGES, 0).board(9, [1 << 31 | 7000]).host(wire.READ_SAMPLES, 0).board(9, [10, 11])
    (told,) = talk(port.status().closing(), lambda board: board.hot_step(DRIVE, load, window_ms=20, divider=2))
    capture, pair = told
    assert (capture.contacts_before, capture.samples) == (Contact.NC, (10, 11))
    assert capture.edges == (Edge(tick=7000, contact=Contact.NO, closed=True),)
    assert (pair.drop, pair.shunt, pair.gain) == ((90,), (6300,), 1)


def test_the_small_requests_are_sent_and_answered() -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).board().status().host(wire.SENSE_COIL).board(9600, -4000).status()
    port.host(wire.SENSE_ANALOG, 1).board(8000).status().host(wire.ACKNOWLEDGE).board().host(wire.ALL_OFF).board()
    port.closing()
    told = talk(
        port, lambda board: board.hold_coil(DRIVE), SerialBoard.sense_coil,
        lambda board: board.sense_analog(Analog.BENCH_TEMPERATURE), SerialBoard.acknowledge, SerialBoard.off,
    )  # fmt: skip
    assert (told[1].bus, told[1].shunt, told[2]) == (9600, -4000, 8000)


@pytest.mark.parametrize("result", [Result.ARGUMENT, Result.DUTY, Result.BUS, Result.UNKNOWN])
def test_a_refusal_is_told_with_its_reason(result: Result) -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).refuses(result).closing()
    with pytest.raises(Refused, match=r"refused hold_coil: .*\.$") as refused:
        talk(port, lambda board: board.hold_coil(DRIVE))
    assert refused.value.reason == result.name.lower()
    port.finish()


@pytest.mark.parametrize("result", [Result.TRIPPED, Result.STOPPED])
def test_a_trip_behind_a_refusal_is_told_as_the_trip(result: Result) -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).refuses(result).status(trip=1).closing()
    with pytest.raises(Tripped, match="more current than its limit") as tripped:
        talk(port, lambda board: board.hold_coil(DRIVE))
    assert tripped.value.trip is Trip.OVER_CURRENT
    port.finish()


def test_work_that_was_stopped_without_a_trip_is_refused() -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).refuses(Result.STOPPED).status().closing()
    with pytest.raises(Refused) as refused:
        talk(port, lambda board: board.hold_coil(DRIVE))
    assert refused.value.reason == "stopped"


@pytest.mark.parametrize(
    "call",
    [
        lambda board: board.hold_coil(Drive(dac=4096, on=True, on_ms=100)),
        lambda board: board.hold_coil(Drive(dac=0, on=True, on_ms=60_001)),
        lambda board: board.step_coil(DRIVE, window_ms=201, divider=1),
        lambda board: board.load_pulse(Pulse(Contact.NO, Branch.A1, settle_ms=1, samples=1, limit_ms=501)),
        lambda board: board.load_pulse(Pulse(Contact.NONE, Branch.A1, settle_ms=1, samples=1, limit_ms=50)),
        lambda board: board.hot_step(DRIVE, Load(Contact.NO, Branch.NONE, limit_ms=50), window_ms=20, divider=1),
    ],
)
def test_a_value_out_of_range_is_refused_and_never_sent(call: Callable[[SerialBoard], object]) -> None:
    port = ScriptedPort().closing()
    with pytest.raises(Refused, match=r"Not sent: .* must be") as refused:
        talk(port, call)
    assert refused.value.reason == "argument"
    port.finish()


def test_waiting_keeps_the_lease_and_lasts_as_long_as_it_says_by_the_clock_of_the_board() -> None:
    port = ScriptedPort()
    for uptime_ms in (1100, 1180, 1250):  # a little slower than the computer's clock
        port.status(outputs=1, uptime_ms=uptime_ms)
    talk(port.closing(), lambda board: board.wait(0.25))
    assert port.clock.slept == pytest.approx([0.1, 0.1, 0.07])
    assert max(port.clock.slept) <= wire.LEASE_MS / 1000 / 4


def test_bench_time_is_counted_from_the_opening_by_the_clock_of_the_board() -> None:
    port = ScriptedPort().status(uptime_ms=1110).closing()
    before, _, after = talk(port, SerialBoard.elapsed, lambda board: board.wait(0.05), SerialBoard.elapsed)
    assert (before, after) == (0.0, 0.11)


class Slow(ScriptedPort):
    """A line on which every answer takes its time."""

    def read(self, size: int, /) -> bytes:
        self.clock.now += 0.016 if self.in_waiting else 0.0
        return super().read(size)


def test_behind_a_slow_bridge_the_board_is_asked_to_fill_packets() -> None:
    port = Slow(greeted=False).host(wire.GREET).greets().status().status()
    port.host(wire.FILL_PACKETS, 62).board().status().host(wire.SENSE_ANALOG, 2).board(8360).closing()
    with opened(port) as board:
        assert board.identity.round_trip_ms == 16.0
    port.finish()


@pytest.mark.parametrize(("kept", "kind", "old"), [(1, 0x52, True), (0, 0x52, False), (1, 0x53, False)])
def test_a_boot_loader_that_leaves_the_causes_of_a_reset_is_an_old_one(kept: int, kind: int, old: bool) -> None:
    """On a real board; an emulated one has none."""
    greeting = (*GREETING[:KIND_AT], kind, *GREETING[KIND_AT + 1 : -5], kept, *GREETING[-4:])
    port = ScriptedPort(greeted=False).host(wire.GREET).greets(*greeting)
    with opened(port.host(wire.SENSE_ANALOG, 2).board(8360).closing()) as board:
        assert board.identity.old_loader is old
