"""The vehicle lead of a bare board: its levelling on the battery, looks at all clips, and the watch.

The budget of a reading, standard uncertainties: the Nano's 5 V, 4.5 to 5.25 V of its USB port; the dividers, two
resistors of 1 % each, until a levelling takes them off, and 100 ppm/K over 10 K then; the converter's zero, 2 counts,
and leakage, 0.1 uA, until a levelling takes them off, and half a count then; its bow, 3 counts in the middle between
what was levelled; quantisation; the charge that one input brings to the next; the chip's own reference, 1.0 to 1.2 V
(ATmega328P data sheet). All are taken as rectangular.
"""

import math
from collections.abc import Sequence

from pulldrop.board.contract import Board
from pulldrop.model.raw import GROUND_SUMMED, LEAD_S, LEAD_SUMMED
from pulldrop.model.vehicle.lead import LeadLevel, LeadReading, LeadSeen
from pulldrop.model.vehicle.socket import Value

STEPS = 1024
RATIO = 112 / 12
SUPPLY_V, SUPPLY_U = 4.875, 0.375 / math.sqrt(3)
OWN_V, OWN_U = 1.1, 0.1 / math.sqrt(3)
COUNT_V = SUPPLY_V / STEPS * RATIO
"""Volts at a clip of one count, 44 mV."""
DIVIDER_U = 0.01 * 100 / 112 * math.sqrt(2) / math.sqrt(3)
WARM_U = 100e-6 * 10 * 100 / 112 * math.sqrt(2) / math.sqrt(3)
ZERO_U, ZEROED_U, BOW_U, ROUNDED_U = 2 / math.sqrt(3), 0.5 / math.sqrt(3), 3 / math.sqrt(3), 1 / math.sqrt(12)
BROUGHT_U = 3.8e-4 / math.sqrt(3)
LEAK_COUNTS_U = 0.1e-6 * 47e3 / (OWN_V / STEPS) / math.sqrt(3)
METER_U = 0.01 / math.sqrt(3)
"""Of a person's multimeter, 1 % (assumed)."""
LOOKS, SETTLE_S = 40, 0.03
"""Readings that one look takes the mean of, 0.1 s; time that the clips get before it."""
APART, NOTHING, FULL, QUIET_COUNTS = 0.045, 0.05, 1015.0, 4.0
"""Two clips on one post differ by no more than this share (parts at their limits 3.6 %, and the zeros); less than so
much of the others is nothing; counts of a pin that its divider does not hold down; most counts of a clip on minus."""
FLAT_V = 4.0
"""Less than this on plus is no battery."""


class LeadTrouble(Exception):
    """The lead is not as it has to be; the message says what to look at."""


class LeadRig:
    """A board with its lead. Without a level its shares are as good as its parts."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.level: LeadLevel | None = None
        self._meter: float | None = None
        self._plus: tuple[float, ...] = ()

    # --- the levelling ---

    def level_on_plus(self) -> float:
        """X1 to X5 all on the battery's plus; about its volts. Raises LeadTrouble that names what is open."""
        counts, ground = self._counts(), self._ground_counts()
        _check_plus(counts, ground)
        self._plus = counts
        return sum(counts) / 4 * COUNT_V

    def level_on_minus(self) -> None:
        """X1 to X5 all on the battery's minus, after `level_on_plus`."""
        counts, ground = self._counts(), self._ground_counts()
        _check_minus(counts, ground)
        a, b, c, d = self._plus
        self.level = LeadLevel(plus=(a, b, c, d), minus=(counts[0], counts[1], counts[2], counts[3]), ground=ground)

    def meter(self, volts: float) -> None:
        """X1's volts now by a person's multimeter: from then on the 5 V counts no more."""
        self._meter = volts / (self._counts()[0] - self._zero(0))

    def pause(self, seconds: float) -> None:
        """Let bench time pass."""
        self.board.wait(seconds)

    # --- looks ---

    def look(self, ground: bool = False) -> LeadSeen:
        """All clips, the mean of 0.1 s; `ground`: X5 too."""
        self.board.wait(SETTLE_S)
        counts = self._counts()
        battery = self._battery(counts[0])
        shares = tuple(self._share(i, counts) for i in (1, 2, 3))
        return LeadSeen(
            battery=battery, shares=(shares[0], shares[1], shares[2]), ground=self._ground() if ground else None
        )

    def _battery(self, counts: float) -> Value:
        above = counts - self._zero(0)
        of_zero = math.hypot(ZEROED_U if self.level else ZERO_U, ROUNDED_U)
        if self._meter is not None:
            return Value(value=above * self._meter, u=self._meter * math.hypot(of_zero, METER_U * above))
        relative = math.hypot(SUPPLY_U / SUPPLY_V, DIVIDER_U)
        bow = BOW_U * 4 * counts / STEPS * (1 - counts / STEPS)
        return Value(value=above * COUNT_V, u=COUNT_V * math.hypot(of_zero, bow, relative * above))

    def _share(self, clip: int, counts: Sequence[float]) -> Value:
        first = max(counts[0] - self._zero(0), 1.0)
        share = (counts[clip] - self._zero(clip)) / first / self._gain(clip)
        of_zero = math.hypot(ZEROED_U if self.level else ZERO_U * math.sqrt(2), ROUNDED_U * math.sqrt(2))
        of_gain = (WARM_U if self.level else DIVIDER_U) * math.sqrt(2) * share
        bow = BOW_U * 4 * min(max(share * (1 - share), 0.0), 0.25) * first / STEPS if self.level else BOW_U
        scatter = ROUNDED_U / math.sqrt(LOOKS) / first
        return Value(value=share, u=math.hypot(of_zero / first, bow / first, of_gain, BROUGHT_U), scatter=scatter)

    def _ground(self) -> Value:
        counts = self._ground_counts() - (self.level.ground if self.level else 0.0)
        of_zero = math.hypot(1.0 / math.sqrt(3) if self.level else math.hypot(ZERO_U, LEAK_COUNTS_U), ROUNDED_U)
        return Value(value=counts * OWN_V / STEPS, u=math.hypot(of_zero * OWN_V / STEPS, counts * OWN_U / STEPS))

    def _zero(self, clip: int) -> float:
        return self.level.minus[clip] if self.level else 0.0

    # --- the watch ---

    def watch(self) -> "LeadWatch":
        """Begin to watch X1 to X4."""
        return LeadWatch(self)

    def volts(self, counts: Sequence[float]) -> tuple[float, float, float, float]:
        """Of one reading's mean counts."""
        unit = COUNT_V if self._meter is None else self._meter
        a, b, c, d = ((counts[i] - self._zero(i)) * unit / self._gain(i) for i in range(4))
        return a, b, c, d

    def _gain(self, clip: int) -> float:
        """Counts of a clip for each of X1's."""
        level = self.level
        if level is None:
            return 1.0
        return (level.plus[clip] - level.minus[clip]) / (level.plus[0] - level.minus[0])

    def _counts(self) -> tuple[float, ...]:
        """Mean counts of X1 to X4 over `LOOKS` readings."""
        watch = LeadWatch(self)
        sums, count = [0.0] * 4, 0
        while count < LOOKS:
            self.board.wait(6 * LEAD_S)
            for one in watch.raw():
                count += 1
                sums = [a + b for a, b in zip(sums, one, strict=True)]
        return tuple(one / count / LEAD_SUMMED for one in sums)

    def _ground_counts(self) -> float:
        return self.board.sense_ground() / GROUND_SUMMED


class LeadWatch:
    """Readings as they come; who reads late loses some, which the next one says."""

    def __init__(self, rig: LeadRig) -> None:
        self._rig, self._next, self._lost = rig, 0, 0
        rig.board.watch_lead()

    def raw(self) -> list[tuple[int, int, int, int]]:
        """Sums of all readings that are there."""
        found: list[tuple[int, int, int, int]] = []
        while True:
            told = self._rig.board.read_lead(self._next)
            self._lost += told.first - self._next
            self._next = told.first + len(told.readings)
            found += told.readings
            if self._next >= told.next:
                return found

    def read(self) -> list[LeadReading]:
        """All readings that are there; none when nothing new came."""
        before, lost_before = self._next, self._lost
        raw = self.raw()
        lost = self._lost - lost_before
        return [
            LeadReading(
                at_s=(before + lost + i) * LEAD_S,
                volts=self._rig.volts([one / LEAD_SUMMED for one in sums]),
                lost=lost if i == 0 else 0,
            )
            for i, sums in enumerate(raw)
        ]


def _check_plus(counts: Sequence[float], ground: float) -> None:
    if max(counts) * COUNT_V < FLAT_V:
        raise LeadTrouble(
            "No clip reads a battery. Put X6 (black) on the battery's minus, X1 to X5 on its plus; if they are, look at"
            " the fuse F11 and the ground wire."
        )
    middle = sorted(counts)[1:3]
    usual = sum(middle) / 2
    for i, one in enumerate(counts):
        name = f"X{i + 1}"
        if one >= FULL:
            raise LeadTrouble(f"{name} reads more than 40 V: R{145 + i}, from its pin to ground, is open or not there.")
        if one < NOTHING * max(counts):
            raise LeadTrouble(
                f"{name} reads nothing, the others {usual * COUNT_V:.1f} V: its clip is off, its wire or R{141 + i} is"
                f" open, or R{145 + i} is short."
            )
        if abs(one / usual - 1) > APART:
            raise LeadTrouble(
                f"{name} reads {one * COUNT_V:.1f} V, the others {usual * COUNT_V:.1f} V: its clip bites badly, or"
                f" R{141 + i} or R{145 + i} is another value."
            )
    if ground < FULL:
        raise LeadTrouble("X5 (white) does not see the plus: its clip is off, or its wire or R149 is open.")


def _check_minus(counts: Sequence[float], ground: float) -> None:
    for i, one in enumerate(counts):
        if one > QUIET_COUNTS:
            raise LeadTrouble(f"X{i + 1} still reads {one * COUNT_V:.1f} V: put its clip on the battery's minus too.")
    if ground > QUIET_COUNTS * 3:
        raise LeadTrouble(
            f"X5 (white) reads {ground * OWN_V / STEPS * 1000:.0f} mV on the battery's minus: put it on the bare post"
            " beside X6; if it is there, C145 leaks or R149 is open."
        )
