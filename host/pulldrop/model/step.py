"""What all steps have in common, and the bounds of the bench that no step may pass.

Rule: no step asks for more than the bench can give; each bound has its reason.
"""

from typing import Annotated, ClassVar

from pydantic import AfterValidator, Field

from pulldrop.model.bench.abilities import LOAD_MOST_A, LOADS_A, Abilities
from pulldrop.model.part.rating import Amps, Seconds, Volts
from pulldrop.model.part.relay import RelayForm
from pulldrop.model.quantity import show
from pulldrop.model.raw import Frozen

COIL_MOST_V = 29.0
COIL_LEAST_V = 0.5
COIL_MOST_A = 0.3
"""The coil supply: 29 V and 0.3 A at most; below 0.5 V its zero error is a tenth of the reading."""
ON_MOST_S = 60.0
"""Longest on-time of the coil that the board takes in one request."""
PULSE_MOST_S = 0.5
PULSE_LEAST_S = 0.006
"""The board ends a load pulse after 500 ms; below 6 ms no pair of conversions at 860 a second fits behind settling."""
DWELL_LEAST_S = 0.01
"""A relay may take 10 ms to operate: a shorter dwell would run past its threshold and read high."""


def _within(least: float, most: float, unit: str, why: str) -> AfterValidator:
    def check(value: float) -> float:
        if not least <= value <= most:
            bounds = f"{show(least, unit)} .. {show(most, unit)}"
            raise ValueError(f"{show(value, unit)} is outside {bounds}: {why}")
        return value

    return AfterValidator(check)


def _from_branches(load_a: float) -> float:
    if not any(abs(load_a - a) < 1e-6 for a in LOADS_A):
        listed = ", ".join(f"{a:g}" for a in LOADS_A)
        raise ValueError(f"the bench cannot load with {show(load_a, 'A')}; its branches give {listed} A")
    return load_a


CoilVolts = Annotated[Volts, _within(COIL_LEAST_V, COIL_MOST_V, "V", "the coil supply of the bench gives no other")]
ProbeVolts = Annotated[Volts, _within(COIL_LEAST_V, 5.0, "V", "the probe looks for a short or a reversed diode first")]
StepVolts = Annotated[Volts, _within(0.01, 5.0, "V", "one count of the bench's coil supply is 7.3 mV")]
Dwell = Annotated[Seconds, _within(DWELL_LEAST_S, 1.0, "s", "a relay may take 10 ms to operate; the board waits 1 s")]
PulseTime = Annotated[
    Seconds, _within(PULSE_LEAST_S, PULSE_MOST_S, "s", "the board samples in pairs and ends at 500 ms")
]
RestTime = Annotated[Seconds, _within(1.0, 60.0, "s", "shorter shows no warming, longer nothing more")]
SoakTime = Annotated[Seconds, _within(10.0, 900.0, "s", "shorter warms nothing, longer shows nothing more")]
ReversedTime = Annotated[Seconds, _within(0.03, 1.0, "s", "the flux of a seated core takes some 30 ms to follow")]
LoadAmps = Annotated[Amps, AfterValidator(_from_branches)]


class Step(Frozen):
    """Settings of one step; its kind is the name of its file, and its procedure is in the file of that name in
    `measure/steps`.

    `title`: what it does, in a line; `gives`: ids of what it measures, in order. `fed`: it needs the coil supply;
    `sets_coil`: at volts of its own, not any supply's; `turned`: or those are turned by hand; `pairs`: it looks at
    pairs of terminals beyond the coil; `loads`: current of a load flows through contacts, `heavy`: 20 A of it; `timed`:
    its readings are compared with times that a maker gives at nominal volts. `kinds`: of part that it is for, of parts
    with two terminals their components.
    """

    measure: str
    title: ClassVar[str]
    gives: ClassVar[tuple[str, ...]]
    fed: ClassVar[bool] = True
    sets_coil: ClassVar[bool] = False
    turned: ClassVar[bool] = False
    pairs: ClassVar[bool] = False
    heavy: ClassVar[bool] = False
    loads: ClassVar[bool] = False
    timed: ClassVar[bool] = False
    kinds: ClassVar[tuple[str, ...]] = ("relay",)

    @property
    def asked(self) -> tuple[str, ...]:
        """Ids of `gives` that these settings ask for."""
        return self.gives

    @property
    def caution(self) -> str:
        """What a person must know before it, beyond the cautions of all energised steps; empty where nothing."""
        return ""

    @classmethod
    def beyond(cls, _form: RelayForm) -> dict[str, str]:
        """What this bench cannot measure of parts of this form: ids of `gives`, each with the reason."""
        return {}

    @classmethod
    def never(cls, able: Abilities) -> str:
        """Why a bench with these abilities does no such step, as protocols here have it; empty where it does."""
        if cls.fed and able.coil == "none":
            return "this is a bare board, without coil supply and load; the protocol relay-bare suits it"
        if cls.pairs and able.looks == "coil":
            return "this build looks at no pair of terminals but 86 and 85"
        if cls.sets_coil and able.coil != "set":
            return "this build cannot set the coil's volts"
        if cls.heavy and able.loads_a and LOAD_MOST_A not in able.loads_a:
            return f"this build loads with {' or '.join(f'{a:g}' for a in able.loads_a)} A at most"
        return ""

    def lacks(self, able: Abilities, nominal_v: float, hand: bool) -> str:
        """Why a bench with these abilities cannot do it with a coil of so many volts; empty where it can. `hand`:
        somebody turns a knob."""
        if why := self.never(able):
            return why
        if not self.fed or able.coil == "set":
            return ""
        if not able.feeds(nominal_v):
            return f"this build feeds a coil from its supply of {able.supply_v:g} V, and this one is of {nominal_v:g} V"
        if self.turned and not hand:
            return "this build has its coil volts turned by hand, and nobody stands by who does it"
        load: float | None = getattr(self, "load", None)
        if load is not None and load not in able.loads_a:
            return f"this build loads with {' or '.join(f'{a:g}' for a in able.loads_a)} A, and it needs {load:g} A"
        return ""

    def held_v(self, nominal_v: float) -> float:
        """The highest volts at which this step holds the coil, from the rating's nominal volts."""
        raise NotImplementedError


class HeldStep(Step):
    """A step that holds the coil at volts of its own, `coil`."""

    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.coil
