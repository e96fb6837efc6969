"""Write the packaged firmware into a Nano, and see that it runs there and that number and calibration stayed.

Rule: nothing is written before the chip has said that it is the right one, and its boot loader is the required one.
"""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

from pulldrop.board.contract import Status
from pulldrop.board.errors import BoardError, WrongBoard
from pulldrop.board.loader import image
from pulldrop.board.loader.stk500 import NEW_BAUD, OLD_BAUD, SIGNATURES, Loader, LoaderError
from pulldrop.board.serial import SerialBoard, open_port
from pulldrop.model.bench.identity import Identity

AGAIN = (
    "The firmware on it is not whole, so it drives no pin and does nothing until it is. Plug it in again, see that"
    " nothing else uses its port, and run 'pulldrop board flash' again."
)
NOTHING = "Nothing was written. Check the cable, and run 'pulldrop board flash' again."


@dataclass(frozen=True, slots=True)
class Flashed:
    """The board after its firmware was written; `kept`: whether number and calibration were compared, and stayed."""

    board: Identity
    status: Status
    length: int
    kept: bool


def flash(device: str, old_loader: bool, step: Callable[[int, int], None]) -> Flashed:
    """Write it at a serial port, also through an old boot loader if allowed; `step` hears how many of how many pages.

    Raises BoardError: its sentence says whether anything was written, and what to do next.
    """
    firmware = image.packaged()
    before = _kept(device)
    begun = False
    try:
        with Loader.open(device) as loader:
            _admit(loader, old_loader)
            begun = True
            for done, _ in enumerate(loader.write(firmware), 1):
                step(done, loader.pages(firmware))
            begun = False
            with suppress(LoaderError):  # opening the port starts the firmware too
                loader.leave()
    except LoaderError as error:
        raise LoaderError(f"{error} {AGAIN if begun else NOTHING}") from error
    except KeyboardInterrupt:
        if not begun:
            raise
        raise LoaderError(f"Interrupted while the Nano at {device} was written. {AGAIN}") from None
    return _greeted(device, len(firmware), before)


def _kept(device: str) -> tuple[int, bytes] | None:
    """Number and notes in the EEPROM, if the firmware that is there can say them. Raises NoBoard without a port."""
    port = open_port(device)
    try:
        with SerialBoard(port, device) as board:
            return board.identity.serial, board.notes()
    except BoardError:
        return None


def _admit(loader: Loader, old_loader: bool) -> None:
    """Raises WrongBoard when this chip, or this boot loader, is not the right one."""
    signature = loader.signature()
    if signature not in SIGNATURES:
        expected = " or ".join(f"{one.hex(' ')} ({name})" for one, name in SIGNATURES.items())
        raise WrongBoard(
            f"The chip at {loader.name} is not that of a Nano: its signature is {signature.hex(' ')}, expected was"
            f" {expected}. Nothing was written. Choose the Nano's port with --board."
        )
    if loader.baud == OLD_BAUD and not old_loader:
        raise WrongBoard(
            f"The Nano at {loader.name} has an old boot loader ({OLD_BAUD} baud; {NEW_BAUD} are required). It leaves"
            " the watchdog running after a watchdog reset, and that hangs the board for good. Nothing was written. Put"
            " the newer boot loader on it with an ISP programmer (hardware/guide.md, stage 1), then run this again;"
            " --old-loader writes all the same."
        )


def _greeted(device: str, length: int, before: tuple[int, bytes] | None) -> Flashed:
    """The board as it greets with its new firmware."""
    try:
        with SerialBoard.open(device) as board:
            after = board.identity.serial, board.notes()
            done = Flashed(board.identity, board.status(), length, before is not None)
    except BoardError as error:
        raise LoaderError(f"Written and verified, but the firmware does not run as it should. {error}") from error
    if done.board.firmware != image.VERSION:
        raise LoaderError(
            f"The board at {device} says that its firmware is {done.board.firmware}; {image.VERSION} was written and"
            " verified. Run 'pulldrop board flash' again, and if it stays so, replace the Nano."
        )
    if before not in (None, after):
        raise LoaderError(
            f"The firmware at {device} is written and verified, but the board's number or calibration changed meanwhile"
            f" (number {before[0] if before else 0} before, {after[0]} now). See 'pulldrop board info'; give it its"
            " number by 'pulldrop board name', then 'pulldrop calibrate'."
        )
    return done
