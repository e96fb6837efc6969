"""What is to be done to one part: the steps of a protocol, with every limit already a number.

Rule: no step asks for more than the bench can give; its bounds are below, each with the reason.
"""

from itertools import combinations
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from pulldrop.model.limit import Limit
from pulldrop.model.part.rating import Amps, Form, Rating, Seconds, Volts
from pulldrop.model.quantity import show
from pulldrop.model.raw import Frozen

Clamp = Literal["tvs", "diode"]
"""What takes the coil's energy on the bench at switch-off: the 68 V TVS, or a 1N4007 across the coil."""

COIL_MOST_V = 29.0
COIL_LEAST_V = 0.5
COIL_MOST_A = 0.3
"""The coil supply: 29 V and 0.3 A at most; below 0.5 V its zero error is a tenth of the reading."""
ON_MOST_S = 60.0
"""Longest on-time of the coil that the board takes in one request."""
PULSE_MOST_S = 0.5
PULSE_LEAST_S = 0.006
"""The board ends a load pulse after 500 ms; below 6 ms no pair of conversions at 860 a second fits behind settling."""
BRANCHES_A = (1.0, 5.0, 10.0, 20.0)
LOAD_MOST_A = 20.0
LOADS_A = tuple(
    sorted(a for n in range(1, 4) for some in combinations(BRANCHES_A, n) if (a := sum(some)) <= LOAD_MOST_A)
)
"""What the load branches add up to; terminals, fuse and supply of the bench are made for 20 A."""
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
SoakTime = Annotated[Seconds, _within(10.0, 900.0, "s", "shorter warms nothing, longer tells nothing more")]
ReversedTime = Annotated[Seconds, _within(0.03, 1.0, "s", "the flux of a seated core takes some 30 ms to follow")]
LoadAmps = Annotated[Amps, AfterValidator(_from_branches)]


class CoilStep(Frozen):
    """Contacts at rest, then coil resistance and current. `probe` is the low first voltage (reversed diode, short)."""

    measure: Literal["coil"]
    probe: ProbeVolts = Field(default=1.0, description="low first voltage, such as '1 V'")
    at: CoilVolts | None = Field(default=None, description="coil voltage; left out: the rating's nominal voltage")


class ThresholdStep(Frozen):
    """Pull-in and drop-out: magnetise at `full`, zero, coarse steps, zero, fine steps with `dwell` each, `walks` times.

    Between very different sizes one middle walk is made, so that a fine walk stays short.
    """

    measure: Literal["thresholds"]
    full: CoilVolts | None = Field(
        default=None, description="magnetising voltage; left out: the highest that the protocol puts on the coil"
    )
    coarse: StepVolts = Field(default=0.5, description="size of the coarse steps, such as '500 mV'")
    fine: StepVolts = Field(default=0.05, description="size of the fine steps, such as '50 mV'")
    coarse_dwell: Dwell = Field(default=0.02, description="time at each coarse step, such as '20 ms'")
    dwell: Dwell = Field(default=0.05, description="time at each fine step, such as '50 ms'")
    walks: int = Field(default=1, ge=1, le=20, description="how many fine walks, 1 to 20; their median is the reading")

    @model_validator(mode="after")
    def _can_be_walked(self) -> Self:
        if self.fine > self.coarse:
            raise ValueError(
                f"'fine' ({show(self.fine, 'V')}) is larger than 'coarse' ({show(self.coarse, 'V')}); expected smaller"
            )
        coarse_s = (self.full or COIL_MOST_V) / self.coarse * self.coarse_dwell
        fine_s = 4 * self.coarse / self.fine * self.dwell
        if max(coarse_s, fine_s) > ON_MOST_S:
            raise ValueError(
                f"the steps would hold the coil on for {max(coarse_s, fine_s):.0f} s; the board allows"
                f" {ON_MOST_S:.0f} s: use larger steps or a shorter dwell"
            )
        return self


class TimingStep(Frozen):
    """Operate, release, bounce, transfer over `makes` at `coil` volts, and the clamp named."""

    measure: Literal["timing"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    clamp: Clamp = Field(default="tvs", description="across the coil at switch-off: the 68 V TVS, or a diode")
    makes: int = Field(default=10, ge=1, le=100, description="how many makes, 1 to 100")


class ContactStep(Frozen):
    """Contact drop at `load`, four-wire, `makes` dry makes at `coil` volts with one pulse each."""

    measure: Literal["contact"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    load: LoadAmps = Field(description="load current, such as '10 A'")
    makes: int = Field(
        default=10, ge=10, le=100, description="how many makes, 10 to 100: fewer say nothing about scatter"
    )
    pulse: PulseTime = Field(default=0.012, description="length of a load pulse, such as '12 ms'")


class ScanStep(Frozen):
    """Contacts at rest, coil resistance and the resting contact at a few mA, by the terminal scan; no supply needed."""

    measure: Literal["scan"]


class LeakageStep(Frozen):
    """Insulation of the open contact, and of the coil from the contacts, at 5 V by the terminal scan."""

    measure: Literal["leakage"]


class ProbeStep(Frozen):
    """The coil at half a volt, before anything else: a short shows here, a reversed diode only at the coil step."""

    measure: Literal["probe"]
    at: ProbeVolts = Field(default=0.5, description="coil voltage below that of a diode, such as '500 mV'")


class MotionStep(Frozen):
    """Start and strike of the armature over `makes` at `coil` volts, from the coil current; no contact is asked."""

    measure: Literal["motion"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    makes: int = Field(default=5, ge=3, le=100, description="how many makes, 3 to 100")


class SurfaceStep(Frozen):
    """Dry, loaded, dry: each throw at 5 mA, at `load`, at 5 mA again, in its first make; the load in `makes` more.

    A film shows only while the part has not been loaded: put it before every 'contact' step.
    """

    measure: Literal["surface"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    load: LoadAmps = Field(description="load current, such as '10 A'")
    makes: int = Field(default=10, ge=5, le=100, description="how many makes, 5 to 100, for the scatter")


class FlybackStep(Frozen):
    """How far the coil's low end flies above the supply at switch-off, `makes` times from `coil` volts."""

    measure: Literal["flyback"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    makes: int = Field(default=3, ge=3, le=100, description="how many makes, 3 to 100")


class SoakStep(Frozen):
    """The coil held on at `coil` volts for `time`, five minutes by custom, to see what warmth does to it."""

    measure: Literal["soak"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    time: SoakTime = Field(default=300.0, description="how long, such as '300 s'")


class TackStep(Frozen):
    """Whether NO opens right after a load pulse of `load`, over `makes` dry makes."""

    measure: Literal["tack"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    load: LoadAmps = Field(description="load current, such as '20 A'")
    makes: int = Field(default=5, ge=3, le=100, description="how many makes, 3 to 100")
    pulse: PulseTime = Field(default=0.03, description="length of a load pulse, such as '30 ms'")


class HotStep(Frozen):
    """Whether NO, and then NC of a changeover, opens after it has closed on `load`: `makes` each, opened dry.

    A hot make wears contacts: few, and after every step whose reading they would change.
    """

    measure: Literal["hot"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    load: LoadAmps = Field(default=10.0, description="load current that the throws close on, such as '10 A'")
    makes: int = Field(default=5, ge=1, le=20, description="how many makes a throw, 1 to 20; each wears the contact")


class ClimbStep(Frozen):
    """How the drop of one make of NO grows over `pulses` load pulses close upon each other."""

    measure: Literal["climb"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    load: LoadAmps = Field(description="load current, such as '20 A'")
    pulses: int = Field(default=6, ge=3, le=10, description="how many pulses, 3 to 10")
    pulse: PulseTime = Field(default=0.06, description="length of a load pulse, such as '60 ms'")


class OverdriveStep(Frozen):
    """Drop-out again after magnetising at `full`, well above nominal; last, because what it leaves in iron stays."""

    measure: Literal["overdrive"]
    full: CoilVolts = Field(description="magnetising voltage, such as '18 V'")
    coarse: StepVolts = Field(default=0.5, description="size of the coarse steps, such as '500 mV'")
    fine: StepVolts = Field(default=0.05, description="size of the fine steps, such as '50 mV'")


class ReversedStep(Frozen):
    """Reversed pulses by exchanged coil leads, which a person is asked for; drop-out before and after, after a make
    as gentle as the part allows. No pulse comes near its pull-in. Parts with a diode are refused."""

    measure: Literal["reversed"]
    full: CoilVolts | None = Field(default=None, description="magnetising voltage; left out: the nominal voltage")
    last: CoilVolts | None = Field(
        default=None,
        description="largest reversed pulse; left out: half of nominal, 0.4 of it for a part that stays operated",
    )
    pulses: int = Field(default=6, ge=3, le=20, description="how many reversed pulses, each larger, 3 to 20")
    pulse: ReversedTime = Field(default=0.1, description="length of a reversed pulse, such as '100 ms'")
    walks: int = Field(default=3, ge=1, le=20, description="how many fine walks to each drop-out, 1 to 20")
    coarse: StepVolts = Field(default=0.5, description="size of the coarse steps, such as '500 mV'")
    fine: StepVolts = Field(default=0.05, description="size of the fine steps, such as '50 mV'")


Step = Annotated[
    CoilStep
    | ThresholdStep
    | TimingStep
    | ContactStep
    | ScanStep
    | LeakageStep
    | ProbeStep
    | MotionStep
    | SurfaceStep
    | FlybackStep
    | SoakStep
    | TackStep
    | HotStep
    | ClimbStep
    | OverdriveStep
    | ReversedStep,
    Field(discriminator="measure"),
]


class Plan(Frozen):
    """A protocol bound to a rating. `limits` by measurement id; `wanted` lists every id that must be reported.

    `unlimited` says, by id, why a limit that the protocol asks for could not be had from this rating.
    `text` is the protocol file as read; `sha256` its hash, stored with every run.
    """

    protocol: str
    version: int
    title: str
    form: Form
    rating: Rating
    steps: tuple[Step, ...]
    wanted: tuple[str, ...]
    limits: dict[str, Limit]
    unlimited: dict[str, str] = Field(default_factory=dict)
    text: str
    sha256: str

    @property
    def load_a(self) -> float | None:
        """Amps at which contact drops are measured; None where no step measures them."""
        return next((step.load for step in self.steps if isinstance(step, ContactStep)), None)

    @property
    def strongest_v(self) -> float:
        """Highest volts that the steps put on the coil, overdrive left out: what hardened iron keeps is of these."""
        steps = [step for step in self.steps if not isinstance(step, OverdriveStep)]
        volts = [getattr(step, name, None) or 0.0 for step in steps for name in ("coil", "at", "full")]
        return max(self.rating.nominal, *volts)
