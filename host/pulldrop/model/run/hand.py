"""What only a person's hand can do in the middle of a run, as a value: whoever stands by does it, or leaves it out.

Rule: everything is off before it is asked for; what cannot be seen afterwards rests on the person's word.
"""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Request:
    """One thing to do. `exchanged`: where the coil leads are to be, in each other's place or in their own."""

    text: str
    exchanged: bool


Hand = Callable[[Request], bool]
"""Does what is asked for and says that it is done; False when it is left out. May take minutes."""

EXCHANGE = Request(
    "Everything is off. Exchange the two coil leads: the one of 85 to blade 86, the one of 86 to blade 85. Leave the"
    " part where it is, and touch nothing else. The bench cannot see which lead is where: it takes your word.",
    exchanged=True,
)
PUT_BACK = Request(
    "Everything is off. Put the two coil leads back: the one of 85 to blade 85, the one of 86 to blade 86.",
    exchanged=False,
)
