"""Jobs wire rooms together; what is asked of a board is asked in measure."""

import ast
from pathlib import Path

import pytest

from pulldrop import jobs
from pulldrop.board.contract import Board

ROOM = Path(jobs.__file__).parent
REQUESTS = {name for name in Board.__abstractmethods__ if name not in ("elapsed", "reopen", "close")}
"""What goes to the board, but for opening and closing; `elapsed` is the host's own count."""
ALLOWED = {("run/test_one.py", "off"), ("flash.py", "status")}
"""However a run ends, everything is switched off there; and a board whose firmware was written says how it is."""


def asked(source: str) -> set[str]:
    """The requests that are made, or handed on, of something called a board."""
    found = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Attribute))
    return {one.attr for one in found if one.attr in REQUESTS and "board" in ast.unparse(one.value).split(".")[-1]}


def test_no_job_asks_a_board() -> None:
    made = {
        (path.relative_to(ROOM).as_posix(), name)
        for path in ROOM.rglob("*.py")
        for name in asked(path.read_text("utf-8"))
    }
    assert made == ALLOWED


@pytest.mark.parametrize("line", ["board.scan(pair)", "self._board.hold_coil(drive)", "hold = rig.board.sense_coil"])
def test_a_request_is_seen_by_whichever_name_the_board_goes(line: str) -> None:
    assert asked(line)
