"""Raw data as a board gives it: counts and ticks, kept for ever so that old runs can be judged again."""

from enum import IntEnum, IntFlag
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from pulldrop.model.wording.harmless import one_line

TICKS_PER_S = 2_000_000
"""Edge ticks per second: Timer1 of a 16 MHz board at a divider of 8."""


LATER = ConfigDict(defer_build=True)
"""For a TypeAdapter that not every command uses."""


class Contact(IntFlag):
    """The two throws of a relay, as bits on the wire."""

    NONE = 0
    NO = 1
    NC = 2


class Frozen(BaseModel):
    """Base of every noun: immutable, and no unknown field passes; its validator is built at first use, because a
    command uses few of them."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


OneLine = Annotated[str, AfterValidator(one_line)]
"""A text of somebody that stands within a line of every screen."""


class Edge(Frozen):
    """One contact edge: `tick` counts of 0.5 us after the coil was switched."""

    tick: int = Field(ge=0)
    contact: Contact
    closed: bool


class Capture(Frozen):
    """What happened after one coil step.

    edges: in order of time, both throws together; contacts_before: throws closed just before the step;
    samples: coil current (when `low_side`: volts of the coil's low end) in ADC counts, the first at the step;
    sample_ticks: ticks from one to the next;
    edges_lost: not 0 when more edges came than the board has room for.
    """

    edges: tuple[Edge, ...]
    contacts_before: Contact
    samples: tuple[int, ...]
    sample_ticks: int = Field(gt=0)
    window_ticks: int = Field(gt=0)
    edges_lost: int = Field(ge=0, default=0)
    low_side: bool = False


class Landing(Frozen):
    """Where a staircase ended: `stopped` when the watched contacts came to the wanted state at step `index`.

    contacts: those of the watched throws that are closed; what the other one does amid noise nobody has waited for.
    """

    stopped: bool
    index: int = Field(ge=0)
    dac: int = Field(ge=0, le=4095)
    contacts: Contact


class CoilCounts(Frozen):
    """One averaged reading of the coil supply: bus volts and shunt volts, signed counts."""

    bus: int
    shunt: int


class Followed(Frozen):
    """The coil held on while its volts are turned by hand, until watched throws were as wanted and at rest, or not.

    edges: in ticks since it began, both throws; bus, shunt: the last conversions up to just behind the first edge,
    oldest first, the last of them over `last_ms` after it began, and the first `span_ms` before that.
    """

    contacts: Contact
    restless: Contact
    edges: tuple[Edge, ...]
    edges_lost: int = Field(ge=0, default=0)
    last_ms: int = Field(ge=0)
    span_ms: int = Field(ge=0)
    bus: tuple[int, ...]
    shunt: tuple[int, ...]


class Line(IntEnum):
    """What the terminal scan reaches, as numbered on the wire; a bare board has no loose leads."""

    NONE = 0
    T85 = 1
    T86 = 2
    T87 = 3
    T87A = 4
    LEAD_1 = 5
    LEAD_2 = 6
    LEAD_3 = 7
    LEAD_4 = 8
    T30 = 9


class ScanCounts(Frozen):
    """Two terminals under 5 V through resistors, and what stood at them, signed counts; 0 for a line that is none.

    On a full build (ADS1115, 32768 counts are full scale): `driven` is minus the drop of the 100 ohm that the source's
    current flows through, 512 mV full scale; `sunk` the drop of the sink's 100 ohm, 256 mV; the others volts, 6.144 V.
    On a bare one `source`, `sink`, `look` are sums of 16 conversions against the 5 V supply (16384), the others 0. On
    an evening build `source` and `driven` are bus and shunt of the INA226 before 86, the others 0.
    """

    source_line: Line
    sink_line: Line
    look_line: Line
    weak: bool
    driven: int
    sunk: int
    source: int
    sink: int
    look: int
    supply: int


class PulseCounts(Frozen):
    """Contact drop and load shunt during one pulse, signed counts, sample by sample, at one `gain` code."""

    drop: tuple[int, ...]
    shunt: tuple[int, ...]
    gain: int


class ShuntWatch(Frozen):
    """Load shunt counts 20 ms after a load was driven and at the end; cut_ms: when its current was cut, 0 if never."""

    first: int
    last: int
    cut_ms: int


class LeadCounts(Frozen):
    """Readings of a vehicle lead's clips X1 to X4, numbered since the watch began, one every `LEAD_S`.

    `first`: number of the first that is here, so that a gap shows; `next`: of the one that is being made.
    """

    first: int = Field(ge=0)
    next: int = Field(ge=0)
    readings: tuple[tuple[int, int, int, int], ...]


LEAD_S, LEAD_SUMMED, GROUND_SUMMED = 2.4e-3, 6, 16
"""Seconds of the board from one reading to the next, and conversions that each sums; conversions in one of X5
(firmware/wire.yaml)."""
