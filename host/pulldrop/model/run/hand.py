"""What only a person's hand can do in the middle of a run, as a value: whoever stands by does it, or leaves it out.

Rule: the coil is off before a lead or a switch is touched; what cannot be seen afterwards rests on the person's word.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from pulldrop.model.part.switch_table import Progress


@dataclass(frozen=True, slots=True)
class Request:
    """One thing to do. `exchanged`: where the coil leads are to be, in each other's place or in their own.

    `turn`: what to do with the knob of the coil's volts, or None: switch it "in" at 0 V or "out" again, with the coil
    off; turn it "up" or "down" slowly, from now on, with the coil on; "on" to that end, however fast; "slower": the
    last turn does not count; "at": nothing new, it stands at `volts` of `most_v`, and `text` says what is wrong, if
    anything; "done": that was all. `word` is for large letters. `learning`: how far a switch is learnt, which somebody
    moves by what is said.
    """

    text: str
    exchanged: bool = False
    turn: Literal["in", "up", "down", "on", "slower", "at", "out", "done"] | None = None
    volts: float = 0.0
    most_v: float = 0.0
    word: str = ""
    learning: Progress | None = None


class Knob(Protocol):
    """The knob of a simulated bench."""

    def set_knob(self, volts: float | None) -> None:
        """The coil on the knob at these volts, or on the supply again (None)."""

    def turn_knob(self, to_v: float) -> None:
        """Begin to turn it slowly to these volts."""

    def hurry_knob(self) -> None:
        """On to where it is being turned, fast."""


Hand = Callable[[Request], bool]
"""Does what is asked for and says that it is done; False when it is left out. May take minutes, but for a knob: then it
only begins, and the board sees what becomes of it."""

KNOB_IN = Request(
    "Hands off the part. Turn the knob fully to the left, then set the switch S4 to 'knob'. It goes on by itself.",
    turn="in",
    word="S4 TO KNOB",
)
KNOB_UP = Request(
    "Turn the knob slowly to the right, 1 V in one or two seconds, until the tone.", turn="up", word="TURN UP"
)
KNOB_DOWN = Request("Turn the knob slowly back to the left, until the tone.", turn="down", word="TURN DOWN")
KNOB_ON = Request("Go on to the end, as fast as you like.", turn="on", word="TO THE END")
KNOB_SLOWER = Request(
    "That was too fast to read, so it does not count. It is asked once more: 1 V in one or two seconds.",
    turn="slower",
    word="TOO FAST",
)
KNOB_AGAIN = Request(
    "The contacts moved between two looks of the bench, so this turn does not count. It is asked once more.",
    turn="slower",
    word="ONCE MORE",
)
KNOB_OUT = Request(
    "Pull-in and drop-out are read. Set the switch S4 back to 'supply'. It goes on by itself.",
    turn="out",
    word="S4 TO SUPPLY",
)
KNOB_DONE = Request("Hands off the part.", turn="done", word="DONE")

EXCHANGE = Request(
    "Everything is off. Exchange the two coil leads: the one of 85 to blade 86, the one of 86 to blade 85. Leave the"
    " part where it is, and touch nothing else. The bench cannot see which lead is where: it takes your word.",
    exchanged=True,
)
PUT_BACK = Request(
    "Everything is off. Put the two coil leads back: the one of 85 to blade 85, the one of 86 to blade 86.",
    exchanged=False,
)
