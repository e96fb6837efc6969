"""The terminal scan over the wire, and a board that says it is bare, as exact dialogues."""

import pytest
from scripted_port import BUILD_AT, GREETING, SUPPLY_SUM, ScriptedPort, opened, talk

from pulldrop.board.errors import NoAnswer, Refused
from pulldrop.board.request_types import Scan
from pulldrop.board.serial import SerialBoard
from pulldrop.model.raw import Line, ScanCounts
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result

SEEN = (-6600, 10170, 5362, 4994, 5100, 26667)
ASKED = (2, 1, 4, 0)
PAIR = Scan(Line.T86, Line.T85, look=Line.T87A)


def scan(board: SerialBoard) -> ScanCounts:
    return board.scan(PAIR)


def test_a_scan_is_one_exchange_and_the_state_asked_before_it_is_believed() -> None:
    port = ScriptedPort().host(wire.SCAN, *ASKED).board(*SEEN).status().closing()
    (counts,) = talk(port, scan)
    assert isinstance(counts, ScanCounts)
    assert (counts.source_line, counts.sink_line, counts.look_line, counts.weak) == (
        Line.T86,
        Line.T85,
        Line.T87A,
        False,
    )
    assert (counts.driven, counts.sunk, counts.source, counts.sink, counts.look, counts.supply) == SEEN


def test_a_slow_board_is_waited_for_while_it_says_that_it_scans() -> None:
    port = ScriptedPort().host(wire.SCAN, *ASKED)
    for back in range(4):
        port.status(work=wire.SCAN.id, uptime_ms=1000 + 20 * back)
    port.late(wire.SCAN, *SEEN, back=0).status().closing()
    talk(port, scan)


def test_a_scan_whose_answer_was_lost_is_asked_for_once_more() -> None:
    port = ScriptedPort().host(wire.SCAN, *ASKED).status().status()
    port.host(wire.SCAN, *ASKED).board(*SEEN).status().closing()
    talk(port, scan)


def test_and_no_oftener() -> None:
    port = ScriptedPort()
    for _ in range(2):
        port.host(wire.SCAN, *ASKED).status().status()
    port.closing()
    with pytest.raises(NoAnswer, match="did not answer scan, asked twice"):
        talk(port, scan)


@pytest.mark.parametrize(("result", "reason"), [(Result.ENERGISED, "energised"), (Result.BUILD, "build")])
def test_a_refusal_says_why(result: Result, reason: str) -> None:
    port = ScriptedPort().host(wire.SCAN, *ASKED).refuses(result).closing()
    with opened(port) as board, pytest.raises(Refused) as refused:
        board.scan(PAIR)
    assert refused.value.reason == reason


def test_a_bare_board_says_so_and_is_not_asked_for_a_load_supply() -> None:
    port = (
        ScriptedPort(greeted=False)
        .host(wire.GREET)
        .greets(*GREETING[:BUILD_AT], 1, *GREETING[BUILD_AT + 1 :])
        .closing()
    )
    with opened(port) as board:
        assert (board.identity.build, board.identity.load_supply) == ("bare", False)
    port.finish()


def test_a_full_board_is_full() -> None:
    port = ScriptedPort(greeted=False).host(wire.GREET).greets()
    port.host(wire.SENSE_ANALOG, 2).board(SUPPLY_SUM).closing()
    with opened(port) as board:
        assert board.identity.build == "full"
    port.finish()
