"""The contacts once their pins have come to rest; a pin that does not is trouble of the bench, never a state.

A contact bounces for some milliseconds, with the springs of relay and armature: it cannot go to and fro within 0.2 ms
for ever, nor fill a log of 40 edges within 4 ms (firmware/core/capture.c). Noise on a pin can.
"""

from pulldrop.board.contract import Board
from pulldrop.board.errors import WireTrouble
from pulldrop.model.raw import Contact

LOOKS, AGAIN_S = 6, 0.006
"""How often, and with what pause, a pin is looked at before it counts as restless: longer than a contact bounces."""


def contacts(board: Board) -> Contact:
    """Throws closed now. Raises WireTrouble while a pin goes to and fro."""
    status = board.status()
    for _ in range(LOOKS):
        if not status.restless:
            return status.contacts
        board.wait(AGAIN_S)
        status = board.status()
    raise trouble(status.restless)


def trouble(throws: Contact) -> WireTrouble:
    """What to say of throws whose pins are restless."""
    pins = " and ".join(name for throw, name in ((Contact.NO, "87"), (Contact.NC, "87a")) if throws & throw)
    return WireTrouble(
        f"The board's pin of terminal {pins} goes up and down faster than a contact can move, so what it shows is not"
        " the part. Look at that wire, at ground, and for ignition or welding nearby; then run again. If it stays so"
        " with this part alone, something in it is loose."
    )
