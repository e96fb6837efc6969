"""Broken wires on the emulated board: the compiled firmware and the same host end as the virtual board does."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from broken_bench import wires
from broken_bench.boards import BrokenPort
from calibrated import calibrate_virtual

from pulldrop.board.errors import BoardError, Refused, Tripped, WireTrouble
from pulldrop.board.serial import SerialBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import self_test
from pulldrop.measure import perform
from pulldrop.protocol.load import plan

SEED = 7
AT = plan("relay-full", "class-mini-12v-form-c")
BURNT = specimens.find("burnt-no").text


@contextmanager
def emulated(part: str) -> Iterator[tuple[BrokenPort, SerialBoard]]:
    with BrokenPort(part, SEED) as port, SerialBoard(port, "the emulator", port.clock, port.sleep) as board:
        yield port, board


def ended_by(wire: str, part: str) -> BoardError | None:
    with emulated(part) as (port, board):
        port.machine.break_wires(wires.effect(wire))
        try:
            for _ in perform(AT, board, calibrate_virtual(SEED)):
                pass
        except BoardError as error:
            return error
    return None


@pytest.mark.parametrize(("wire", "kind"), [
    ("J3.87s", WireTrouble), ("J3.87as", WireTrouble), ("J3.30s", WireTrouble), ("J3.30", WireTrouble),
    ("edge_no", WireTrouble), ("edge_nc", WireTrouble), ("J3.86", WireTrouble), ("dry_no", WireTrouble),
    ("scl.C", Refused), ("stop_n.B", Tripped), ("branch_20a to edge_nc", WireTrouble), ("D12.a", WireTrouble),
])  # fmt: skip
def test_a_run_with_a_broken_wire_ends_as_trouble_of_the_bench(wire: str, kind: type[BoardError]) -> None:
    assert isinstance(ended_by(wire, BURNT), kind)


def test_the_self_test_of_the_emulated_board_finds_a_broken_sense_wire_and_a_supply_that_is_not_held() -> None:
    with emulated(specimens.empty_socket().text) as (port, board):
        checks = {check.title: check.state for check in self_test(board, calibrate_virtual(SEED))}
        assert checks["contact converter"] == checks["coil supply held at 0"] == "ok"
        port.machine.break_wires(wires.effect("R98.1"))
        checks = {check.title: check.state for check in self_test(board, calibrate_virtual(SEED))}
        assert checks["coil supply held at 0"] == "wrong" and checks["coil supply at 12 V"] == "ok"
        port.machine.break_wires(wires.effect("J3.87as"))
        checks = {check.title: check.state for check in self_test(board, calibrate_virtual(SEED))}
        assert checks["contact converter"] == "wrong"
        port.machine.break_wires(wires.effect("scl.A"))
        checks = {check.title: check.state for check in self_test(board, calibrate_virtual(SEED))}
        assert checks["emergency stop"] == "ok" and checks["coil supply"] == "not done" and "scan lines" in checks
