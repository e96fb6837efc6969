"""What the look proposes before a part is energised, and what a person says to it, by one key.

Rule: a person agrees to what lies in the socket now: it is looked at again before it is energised, and if that is
something else, it is proposed anew.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from queue import Empty, SimpleQueue

from rich.console import Console

from pulldrop.cli.ask import answered
from pulldrop.cli.ask.keys import pressed
from pulldrop.cli.show import screen
from pulldrop.jobs.run.by_look import Looked, proposed, same
from pulldrop.jobs.run.identify import NotEnergised
from pulldrop.model.run.purpose import Purpose
from pulldrop.model.wording import words
from pulldrop.protocol.ratings.classes import classes
from pulldrop.protocol.shipped.purposes import protocol_for

GO, LEAVE = answered.GO, (answered.ESC, "q")
PURPOSES: dict[str, Purpose] = {"f": "full", "d": "diagnose"}
See = Callable[[str | None, str | None], Looked]
"""Looks at what lies in the socket, for this protocol and this rating; None: what the look proposes."""


@dataclass(slots=True)
class Wish:
    """What a person has chosen so far; `part`: for which part, in words."""

    protocol: str | None
    rating: str | None = None
    part: str = "The part in the socket"


def agree(out: Console, wish: Wish, see: See, key: Callable[[], str]) -> Looked | None:
    """What a person agreed to have tested; None if nothing is to be. Raises BoardError.

    A part that is refused needs no agreement: nothing is energised, and its record says why.
    """
    looked = _seen(out, wish, see)
    while True:
        if looked is not None and looked.refused:
            return looked
        if looked is not None:
            _propose(out, looked, wish.part)
        said = key()
        if said in LEAVE:
            return None
        if said not in GO and not _choose(wish, said):
            continue
        again = _seen(out, wish, see)
        if said in GO and looked and again and looked.plan and same(looked, again):
            return again
        looked = again


def _seen(out: Console, wish: Wish, see: See) -> Looked | None:
    try:
        return see(wish.protocol, wish.rating)
    except NotEnergised as no:
        out.print(str(no))
        out.print("Space: look again   Esc: leave", style="bold")
        return None


def _choose(wish: Wish, said: str) -> bool:
    if said in PURPOSES:
        wish.protocol = protocol_for("relay", PURPOSES[said])
        return True
    number = int(said) if said.isascii() and said.isdigit() else -1
    if 0 <= number < len(classes()):
        wish.rating = classes()[number].rating
        return True
    return False


def _propose(out: Console, looked: Looked, part: str) -> None:
    seen = words.in_short(looked.identified) if looked.identified else "not looked at"
    if looked.plan is None:
        out.print(f"{part}: {seen}. What kind of relay is it?", style="bold")
        for number, one in enumerate(classes()):
            out.print(screen.beside(f"  {number}", f"{one.title} ({one.rating})", width=4))
        out.print("A number: that kind   Space: look again   Esc: leave", style="bold")
        return
    out.print(f"{part}: {seen}", style="dim")
    out.print(proposed(looked), style="bold")
    out.print("Hands off the part, then Space: test it   f: in full   d: what is wrong   Esc: leave", style="bold")


@contextmanager
def one_key() -> Iterator[Callable[[], str]]:
    """Within, gives the next key that is pressed, Esc where nobody presses one for a while; keys that were pressed
    before it was asked do not count."""
    keys: SimpleQueue[str] = SimpleQueue()

    def ask() -> str:
        while not keys.empty():
            keys.get()
        try:
            return keys.get(timeout=answered.WAIT_S).lower()
        except Empty:
            return answered.ESC

    with pressed(keys.put):
        yield ask
