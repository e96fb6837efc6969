"""The contacts once their pins have come to rest; a pin that does not is trouble of the bench, never a state.

A contact bounces for some milliseconds, with the springs of relay and armature: it cannot go to and fro within 0.2 ms
for ever, nor fill a log of 40 edges within 4 ms (firmware/core/capture.c). Noise on a pin can.
"""

from pulldrop.board.contract import Board
from pulldrop.board.errors import WireTrouble
from pulldrop.model.raw import Contact

LOOKS, AGAIN_S = 7, 0.006
"""How often, and with what pause, a pin is looked at before it counts as restless: longer than a contact bounces."""
CALM = 3
"""Looks in a row that must agree once a pin was restless: noise has quiet moments, too."""


def contacts(board: Board) -> Contact:
    """Throws closed now. Raises WireTrouble while a pin goes to and fro."""
    status = board.status()
    if not status.restless:
        return status.contacts
    restless, calm = status.restless, 0
    for _ in range(LOOKS - 1):
        before = status
        board.wait(AGAIN_S)
        status = board.status()
        restless |= status.restless
        same = not before.restless and status.contacts == before.contacts
        calm = 0 if status.restless else calm + 1 if same else 1
        if calm == CALM:
            return status.contacts
    raise trouble(restless)


def trouble(throws: Contact) -> WireTrouble:
    """What to say of throws whose pins are restless."""
    names = [name for throw, name in ((Contact.NO, "87"), (Contact.NC, "87a")) if throws & throw]
    pins, go = ("terminals", "go") if names[1:] else ("terminal", "goes")
    return WireTrouble(
        f"What the bench sees at {pins} {' and '.join(names)} {go} up and down faster than a contact can move: it shows"
        " no steady contact, and the part was not judged. Look at that wire, at ground, and for ignition or welding"
        " nearby; then run again. If it comes back with this part and not with a good one, do not use the part."
    )
