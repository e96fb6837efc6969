"""What is to be done to one part: the steps of a protocol, with every limit already a number."""

from typing import Annotated, Literal

from pydantic import Field

from pulldrop.model.limit import Limit
from pulldrop.model.rating import Amps, Form, Rating, Seconds, Volts
from pulldrop.model.raw import Frozen

Clamp = Literal["tvs", "diode"]
"""What takes the coil's energy on the bench at switch-off: the 68 V TVS, or a 1N4007 across the coil."""


class CoilStep(Frozen):
    """Contacts at rest, then coil resistance and current. `probe` is the low first voltage (reversed diode, short)."""

    measure: Literal["coil"]
    probe: Volts = 1.0
    at: Volts | None = None  # None: the rating's nominal voltage


class ThresholdStep(Frozen):
    """Pull-in and drop-out: magnetise at `full`, zero, coarse steps, zero, fine steps with `dwell` each."""

    measure: Literal["thresholds"]
    full: Volts | None = None
    coarse: Volts = 0.5
    fine: Volts = 0.05
    coarse_dwell: Seconds = 0.02
    dwell: Seconds = 0.05


class TimingStep(Frozen):
    """Operate, release, bounce, transfer over `makes` at `coil` volts, and the clamp named."""

    measure: Literal["timing"]
    coil: Volts
    clamp: Clamp = "tvs"
    makes: int = Field(default=10, ge=1, le=100)


class ContactStep(Frozen):
    """Contact drop at `load`, four-wire, `makes` dry makes at `coil` volts with one pulse each."""

    measure: Literal["contact"]
    coil: Volts
    load: Amps
    makes: int = Field(default=10, ge=10, le=100)
    pulse: Seconds = 0.012


Step = Annotated[CoilStep | ThresholdStep | TimingStep | ContactStep, Field(discriminator="measure")]


class Plan(Frozen):
    """A protocol bound to a rating. `limits` by measurement id; `wanted` lists every id that must be reported.

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
    text: str
    sha256: str
