"""What a board can be asked for, in counts and milliseconds, and the bounds that it keeps by itself.

Rule: only rooms that measure make these; jobs never do.
"""

from dataclasses import dataclass
from enum import IntEnum, IntFlag

from pulldrop.model.raw import Contact, Line

DAC_MAX = 4095
ON_MS_MAX = 60_000
PULSE_MS_MAX = 500
CURRENT_LIMIT_MAX = 1000
"""The board's own bounds: DAC code, on-time of the coil, load pulse, over-current limit in ADC counts."""
LOAD_SUPPLY_LEAST = 6270
"""Sum of 16 conversions from which on a load supply is there: 9 V behind 10 kohm over 2.7 kohm, 5 V reference."""


class Branch(IntFlag):
    """Load branches by their nominal current."""

    NONE = 0
    A1 = 1
    A5 = 2
    A10 = 4
    A20 = 8


class Analog(IntEnum):
    """Slow analogue channels: 16 conversions summed, 0..16368."""

    COIL_CURRENT = 0
    BENCH_TEMPERATURE = 1
    LOAD_SUPPLY = 2
    COIL_LOW_SIDE = 3


@dataclass(frozen=True, slots=True)
class Drive:
    """How the coil is driven.

    dac: 0..4095; on: coil switch closed; diode: 1N4007 across the coil at switch-off, else the 68 V TVS alone;
    dry: throws fed with 5 mA so that their edges are seen; on_ms: longest time the coil may stay on;
    limit: coil current in ADC counts above which, for 1 ms, the board trips.
    """

    dac: int
    on: bool
    on_ms: int
    diode: bool = False
    dry: Contact = Contact.NO | Contact.NC
    limit: int = CURRENT_LIMIT_MAX


@dataclass(frozen=True, slots=True)
class Stairs:
    """Steps of the DAC, `dac + i * step` for i in 0..count-1, `dwell_ms` each; ends when the throws in `watch`
    have, at the end of a dwell, the states in `wanted`; the coil then stays at that step until on_ms is over."""

    drive: Drive
    step: int
    count: int
    dwell_ms: int
    watch: Contact
    wanted: Contact


@dataclass(frozen=True, slots=True)
class Pulse:
    """One load pulse through one throw: branches on, `settle_ms`, then `samples` pairs of drop and shunt, off.

    No branch means the dry 5 mA source alone. `gain` is the converter's range code, 5 (256 mV) .. 1 (4.096 V).
    The board ends the pulse after `limit_ms` in any case, and refuses more than 10 % duty over 10 s, and pulses of
    together more than 500 ms in the last second.
    """

    throw: Contact
    branches: Branch
    settle_ms: int
    samples: int
    limit_ms: int
    gain: int = 5


@dataclass(frozen=True, slots=True)
class Watch:
    """A load that should not flow, for at most 100 ms: throws without a branch, or branches without a throw. Or one
    that should be cut: the 1 A branch with a throw, for longer than the bench's own pulse limit lets it.

    watch_ms: 30..950, above 100 only for that.
    """

    throws: Contact
    branches: Branch
    watch_ms: int


@dataclass(frozen=True, slots=True)
class Load:
    """The load of a hot step: one throw, at least one branch, at most `limit_ms`; `gain` as for a pulse.

    The dry source stays on beside it, so that the throw's pin shows edges as it does without load.
    """

    throw: Contact
    branches: Branch
    limit_ms: int
    gain: int = 1


@dataclass(frozen=True, slots=True)
class Follow:
    """The coil stays on, for `on_ms` from now, while a hand turns its volts; ends when the throws in `watch` have the
    states in `wanted` and rest, or after `window_ms`, 1..400. limit: as of `Drive`."""

    watch: Contact
    wanted: Contact
    window_ms: int = 400
    on_ms: int = 2000
    limit: int = CURRENT_LIMIT_MAX


@dataclass(frozen=True, slots=True)
class Scan:
    """5 V through a resistor on `source`, `sink` through a resistor to ground; both are read, and `look` as well.

    At most 23 mA flow. Either may be NONE. On a full build terminal 30 is ground: it can be the sink, never the source.
    An evening build has 86 as source and 85 as sink alone. `weak`, on a bare build only: the source through its pin's
    own pull-up of 20 to 50 kohm.
    """

    source: Line
    sink: Line
    look: Line = Line.NONE
    weak: bool = False
