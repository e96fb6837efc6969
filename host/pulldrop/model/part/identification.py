"""What a part is, as far as a few milliamps tell before anything is energised: the noun of `pulldrop identify`.

Rule: every statement says how sure it is, what rest cannot show is said, and what must not be energised is refused.
"""

from typing import Literal

from pydantic import Field

from pulldrop.model.part.pair import Pair
from pulldrop.model.part.relay import FORMS, Form
from pulldrop.model.raw import Frozen

Sure = Literal["sure", "likely", "unsure"]
"""sure: nothing else that this bench knows of looks like it; likely: the usual one of several; unsure: unknown."""
Layout = Literal["usual", "exchanged", "other", "unknown"]
"""usual: coil on 85 and 86; exchanged: 30 and 86 have changed places; other: the coil is on other blades yet."""
Winding = Literal["whole", "open", "open behind its resistor", "shorted", "unknown"]
Suppressor = Literal["none", "resistor", "diode", "series diode", "zener", "unknown"]
"""Across the coil. series diode: one in series with the coil as well, so that it works in one polarity only."""
About = Literal["terminals", "layout", "coil", "form", "class", "suppression", "insulation"]


class Statement(Frozen):
    """One thing that is said of the part, how sure it is, and what it was seen by."""

    about: About
    text: str
    sure: Sure
    why: str = ""


class CannotKnow(Frozen):
    """One thing that the look could not settle, in words, and what it is about."""

    about: About
    text: str


class CoilSeen(Frozen):
    """The coil by the socket's numbers; `plus` is where the bench's supply is, when the layout is the usual one.

    Ohms of all that lies between the two blades, at the temperature of the bench, and +-`expanded_ohm` (k = 2);
    `ohm_20c` by the copper law, None without a thermometer.
    """

    plus: str
    minus: str
    ohm: float
    expanded_ohm: float
    ohm_20c: float | None = None


class SuppressionSeen(Frozen):
    """What is across the coil. `possible`: all that it may be, the likeliest first, when `kind` is not sure.

    `ohm_least`, `ohm_most`: between which its resistor lies; `zener_v`: volts at which it held the coil, about.
    """

    kind: Suppressor = "unknown"
    reversed: bool = False
    possible: tuple[Suppressor, ...] = ()
    ohm_least: float | None = None
    ohm_most: float | None = None
    zener_v: float | None = None


class Identification(Frozen):
    """What lies in the socket. No part of it was energised to find this out, unless somebody asked for it.

    seen: blades that conduct to another one; terminals: how many blades it may have, the likeliest first;
    forms: contact forms that it may be, the likeliest first, empty when none fits;
    volts: nominal coil voltage of its class, None when no class fits or two do; classes: ratings that fit the coil;
    refuse: why nothing may be energised, or there is nothing to test, empty when it may; protocol, rating: proposed by
    name, empty when none fits; `sure` of both together.
    """

    empty: bool = False
    seen: tuple[str, ...] = ()
    terminals: tuple[int, ...] = ()
    layout: Layout = "unknown"
    forms: tuple[Form, ...] = ()
    coil: CoilSeen | None = None
    winding: Winding = "unknown"
    volts: float | None = None
    classes: tuple[str, ...] = ()
    suppression: SuppressionSeen = SuppressionSeen()
    statements: tuple[Statement, ...] = ()
    cannot_know: tuple[CannotKnow, ...] = ()
    refuse: str = ""
    protocol: str = ""
    rating: str = ""
    sure: Sure = "unsure"
    bench_s: float = Field(default=0.0, ge=0)

    @property
    def no_relay(self) -> bool:
        """Whether 30 conducts to 87, nothing else to anything, and no coil is there."""
        return self.winding == "open" and set(self.seen) == {"30", "87"}

    def all_have(self, pair: Pair) -> bool:
        """Whether every form that it may be has this pair; False where no form is known."""
        return bool(self.forms) and all(pair in FORMS[one].pairs for one in self.forms)

    def said(self, about: About) -> Statement | None:
        """The statement about one thing, if there is one."""
        return next((one for one in self.statements if one.about == about), None)
