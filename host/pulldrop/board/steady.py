"""The contacts once their pins have come to rest; a pin that does not is trouble of the bench, never a state.

Rule: a state counts when its pin has not moved for 10 ms (firmware/core/measure/capture.c); 10 ms lie between the edges
of no bounce, and hardly between those of noise that comes a thousand times a second.
"""

from pulldrop.board.contract import Board
from pulldrop.board.errors import TooLate, WireTrouble
from pulldrop.model.raw import Contact

LOOKS, AGAIN_S = 12, 0.005
"""How often, and with what pause, a pin is looked at until it rests: longer than a contact bounces."""
BOTH = Contact.NO | Contact.NC


def contacts(board: Board, throws: Contact = BOTH) -> Contact:
    """Throws closed now. Raises WireTrouble when one of `throws` does not come to rest, TooLate when one is not fed."""
    for look in range(LOOKS):
        if look:
            board.wait(AGAIN_S)
        status = board.status()
        if throws & ~status.fed:
            board.off()
            raise too_late("what shows the contacts")
        if not (restless := status.restless & throws):
            return status.contacts
    raise trouble(restless)


def too_late(what: str) -> TooLate:
    """What to say where something was read, and had gone off before."""
    return TooLate(
        f"The bench waited too long: {what} had gone off by its own time before it was read. Run again, with nothing"
        " else on this computer that holds it up."
    )


def trouble(throws: Contact) -> WireTrouble:
    """What to say of throws whose pins are restless."""
    names = [name for throw, name in ((Contact.NO, "87"), (Contact.NC, "87a")) if throws & throw]
    pins, go = ("terminals", "go") if names[1:] else ("terminal", "goes")
    return WireTrouble(
        f"What the bench sees at {pins} {' and '.join(names)} {go} up and down and does not come to rest: it shows no"
        " steady contact, so everything is off and the part was not judged. Look at that wire, at ground, and for"
        " ignition or welding nearby; then run again. If it comes back with this part and not with a good one, its"
        " contact is burnt or loose: do not use the part."
    )
