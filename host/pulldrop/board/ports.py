"""Which serial ports there are, and which of them is a pulldrop board.

Rule: a port is tried only when USB stands behind it, for opening a port restarts most small boards.
"""

from collections.abc import Callable, Sequence

from serial.tools import list_ports

from pulldrop.board.contract import Board
from pulldrop.board.errors import BoardError, NoBoard
from pulldrop.board.serial import SerialBoard
from pulldrop.model.bench.identity import Identity

NO_PORT = "No serial port with USB behind it was found. Plug the board in with a USB cable that carries data."


def candidates() -> list[str]:
    """Names of the serial ports with USB behind them, in order of name."""
    return sorted(port.device for port in list_ports.comports() if port.vid is not None)


def find(ports: Sequence[str] | None = None, open_board: Callable[[str], Board] = SerialBoard.open) -> list[Identity]:
    """Greet each port (up to 3 s each) and tell the boards that answered. Raises NoBoard when there is none."""
    tried = candidates() if ports is None else list(ports)
    found, reasons = [], []
    for port in tried:
        try:
            with open_board(port) as board:
                found.append(board.identity)
        except BoardError as error:
            reasons.append(str(error))
    if found:
        return found
    if not tried:
        raise NoBoard(f"{NO_PORT} Or try without one: `--board virtual`.")
    raise NoBoard("No pulldrop board was found. " + " ".join(reasons))


def only() -> str:
    """The one serial port with USB behind it, where a board may be that does not answer yet. Raises NoBoard."""
    tried = candidates()
    if len(tried) == 1:
        return tried[0]
    if not tried:
        raise NoBoard(NO_PORT)
    raise NoBoard(f"There are several serial ports with USB behind them ({', '.join(tried)}). Choose one with --board.")
