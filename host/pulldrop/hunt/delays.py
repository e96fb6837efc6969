"""How late the wire comes on and goes off, and so how long it is watched and which looks prove something.

Rule: "still on" proves nothing before it is known how long the wire stays on after its rule is lost. A delay is learned
only where no earlier move can have caused the change.
"""

from collections.abc import Collection
from dataclasses import dataclass

from pulldrop.hunt.space import MOVE_S
from pulldrop.model.hunt.ask import AskReason
from pulldrop.model.hunt.diary import StepSeen
from pulldrop.model.hunt.look import WireLevel, WireLook

WAIT_S, LONGEST_S = 3.5, 31.0
"""Watched while no delay is known: on-delays reach 3 s, timers 30 s."""
MARGIN_S, SURE = 0.5, 1.1
"""What is added to a known delay, and its factor."""

TrustedLook = tuple[WireLevel, bool] | None
"""The level and whether it acts; None where a timer may have kept the wire on."""


@dataclass
class Delays:
    """`rise_s`, `fall_s`: the longest that the wire took to come on, and to go off; None while unknown."""

    acts: Collection[WireLevel]
    rise_s: float | None = None
    fall_s: float | None = None
    on: bool = False
    """Whether the wire acted at the last look."""
    ever_on: bool = False

    @property
    def wait_s(self) -> float:
        """How long the wire is watched after the last move of a step."""
        return WAIT_S if self.rise_s is None else min(WAIT_S, self.rise_s * SURE + MARGIN_S)

    @property
    def pace_s(self) -> float:
        """The same after a move that another one follows: while nothing was live the hand does not wait."""
        return self.wait_s if self.ever_on else min(self.wait_s, MOVE_S)

    @property
    def hold_s(self) -> float:
        """The same where the wire was on before the move."""
        return LONGEST_S if self.fall_s is None else max(self.wait_s, self.fall_s * SURE + MARGIN_S)

    def take(self, entry: StepSeen) -> list[TrustedLook]:
        """Learn from a step's looks, and give what each is worth."""
        made: list[TrustedLook] = []
        for i, look in enumerate(entry.looks):
            before = self.on
            alone = i == 0 or entry.pace_s >= entry.wait_s
            self._learn(look, entry.fall_s, alone)
            watched = entry.reason is not AskReason.FALL or i == len(entry.looks) - 1
            longest = LONGEST_S if self.fall_s is None else self.fall_s
            stale = self.on and before and not (watched and entry.fall_s >= longest)
            made.append(None if stale else (look.level, self.on))
        return made

    def leave(self, on: bool) -> None:
        """The wire as it was left by what was no step."""
        self.on = on
        self.ever_on |= on

    def _learn(self, look: WireLook, fall_s: float, alone: bool) -> None:
        on = look.level in self.acts
        if on and not self.on and alone:
            self.rise_s = max(self.rise_s or 0.0, WAIT_S if look.rose_s is None else look.rose_s)
        if self.on and not on:
            untimed = fall_s if self.fall_s is None else self.fall_s
            self.fall_s = max(self.fall_s or 0.0, untimed if look.fell_s is None else look.fell_s)
        self.on = on
        self.ever_on |= on
