"""What a computer needs before it can test: checked in order, each with what to do when it is missing.

Rule: it looks only: no board is energised, no store made, nothing written.
"""

import os
import platform
import sys
import webbrowser
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from pulldrop import __version__
from pulldrop.board.errors import BoardError
from pulldrop.board.ports import candidates
from pulldrop.emulator.errors import EmulatorError
from pulldrop.jobs.run.boards import SIMULATED, open_board
from pulldrop.jobs.run.calibration import in_force
from pulldrop.model.bench.identity import Identity
from pulldrop.store import NoStore, Store, StoreError

RIGHTS = {
    "linux": "Join the port's group, often dialout: sudo usermod -aG dialout $USER; then log out and in again.",
    "darwin": "Close the program that has the port open.",
    "win32": "Close the program that has the port open.",
}
"""What to do about a port that may not be opened, by platform."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was checked: `ok` None where it could not be; `do` what to do about it, else empty."""

    what: str
    ok: bool | None
    says: str
    do: str = ""
    simulated: bool = False


def examine(board: str, seed: int, store: str | None) -> tuple[Finding, ...]:
    """Everything, in the order in which a person mends it."""
    ports = tuple(_ports(board))
    found, identity, notes = _board(board, seed) if all(one.ok for one in ports) else (_NO_PORT, None, b"")
    return (
        Finding("pulldrop", True, f"{__version__}, Python {platform.python_version()}"),
        *ports,
        found,
        *_history(store, identity, notes),
        _browser(),
    )


SIMULATED_STORE = "simulated"
SIMULATED_APART = "Simulated runs go there, never into the store of the settings; --store names another."
_NO_PORT = Finding("board", None, "not tried, for want of a port")


def _ports(board: str) -> Iterator[Finding]:
    if board in SIMULATED:
        return
    ports = candidates() if board == "auto" else [board]
    if not ports:
        yield Finding(
            "port", False, "no serial port with USB behind it", "Plug the board in, by a USB cable that carries data."
        )
    for port in ports:
        may = os.access(port, os.R_OK | os.W_OK) if os.path.exists(port) else sys.platform == "win32"
        if may:
            yield Finding("port", True, port)
        elif os.path.exists(port):
            yield Finding("port", False, f"you may not use {port}", RIGHTS.get(sys.platform, RIGHTS["linux"]))
        else:
            yield Finding("port", False, f"there is no {port}", "Plug the board in, or name another with --board.")


def _board(board: str, seed: int) -> tuple[Finding, Identity | None, bytes]:
    try:
        with open_board(board, None, seed) as bench:
            who, notes = bench.identity, bench.notes()
    except (BoardError, EmulatorError) as error:
        return Finding("board", False, str(error), "A new Nano gets its firmware by: pulldrop board flash"), None, b""
    says = f"{who.kind} board {who.serial}, firmware {who.firmware}, build {who.build}"
    if who.serial or who.simulated:
        return Finding("board", True, says, simulated=who.simulated), who, notes
    return Finding("board", True, f"{says}; it has no number yet", "Give it one: pulldrop board name 1"), who, notes


def _history(store: str | None, board: Identity | None, notes: bytes) -> Iterator[Finding]:
    """The store, and the calibration that holds for the board by it."""
    apart = SIMULATED_APART if store == SIMULATED_STORE else ""
    try:
        with Store.look(store) as history:
            info = history.info()
            kept = Finding("store", True, f"{info.store}: {info.parts} parts, {info.runs} runs", apart)
            found = (kept, _calibration(history, board, notes)) if board else (kept,)
    except NoStore as none:
        found = (Finding("store", None, str(none), apart),)
    except StoreError as error:
        found = (Finding("store", False, str(error)),)
    yield from found


def _calibration(history: Store, board: Identity, notes: bytes) -> Finding:
    calibration, told = in_force(history, board, datetime.now(UTC), notes)
    if calibration.taken_at is None:
        return Finding("calibration", None, "none: values are right within wide limits", "Later: pulldrop calibrate")
    return Finding("calibration", not told, " ".join((f"of {calibration.taken_at:%Y-%m-%d}", *told)))


def _browser() -> Finding:
    try:
        webbrowser.get()
    except webbrowser.Error:
        return Finding("browser", None, "none on this computer; a phone can show the page: pulldrop page --lan")
    return Finding("browser", True, "found; the page is shown by: pulldrop page")
