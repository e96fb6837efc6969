"""What only a person's hand can do in the middle of a run, as a value: whoever stands by does it, or leaves it out.

Rule: everything is off before it is asked for; what cannot be seen afterwards rests on the person's word.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol


@dataclass(frozen=True, slots=True)
class Request:
    """One thing to do. `exchanged`: where the coil leads are to be, in each other's place or in their own. `turn`: what
    to do with the knob of the coil's volts, or None: switch it "in" at 0 V or "out" again, with everything off; turn it
    "up" or "down" slowly, from now on, with the coil on; "on" to that end, however fast. `volts`: with "at", where it
    stands, which is only shown.
    """

    text: str
    exchanged: bool = False
    turn: Literal["in", "up", "down", "on", "at", "out"] | None = None
    volts: float = 0.0


class Knob(Protocol):
    """The knob of a simulated bench."""

    def set_knob(self, volts: float | None) -> None:
        """The coil on the knob at these volts, or on the supply again (None)."""

    def turn_knob(self, to_v: float) -> None:
        """Begin to turn it slowly to these volts."""

    def hurry_knob(self) -> None:
        """On to where it is being turned, fast."""


Hand = Callable[[Request], bool]
"""Does what is asked for and says that it is done; False when it is left out. May take minutes, but for a knob that is
to be turned or shown: then it only begins."""

KNOB_IN = Request(
    "Everything is off. Turn the knob fully to the left, then set the switch S4 to 'knob'.",
    turn="in",
)
KNOB_UP = Request("Turn the knob slowly to the right, a volt in a second or two, until the tone.", turn="up")
KNOB_DOWN = Request("Turn the knob slowly back to the left, until the tone.", turn="down")
KNOB_ON = Request("Now on to its end, as fast as you like.", turn="on")
KNOB_SLOWER = "That was too fast to read. Once more, slower."
KNOB_OUT = Request("Everything is off. Set the switch S4 back to 'supply'.", turn="out")

EXCHANGE = Request(
    "Everything is off. Exchange the two coil leads: the one of 85 to blade 86, the one of 86 to blade 85. Leave the"
    " part where it is, and touch nothing else. The bench cannot see which lead is where: it takes your word.",
    exchanged=True,
)
PUT_BACK = Request(
    "Everything is off. Put the two coil leads back: the one of 85 to blade 85, the one of 86 to blade 86.",
    exchanged=False,
)
