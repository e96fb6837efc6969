"""A simulated person at the controls: does what is asked, slips now and then, and mostly does not notice.

Rule: 3 in 100 steps go wrong, 0.5 more for each further control; four of five slips stay until the control is next
named. Positions are read aloud as they are.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass

from drawn import Vehicle

from pulldrop.hunt.space import CRANK_S, MOVE_S, READ_ALOUD_S, READ_S, WALK_S
from pulldrop.model.hunt.control import Reach
from pulldrop.model.hunt.look import WireLook

SLIP, FURTHER, STAYS = 0.03, 0.005, 0.8


@dataclass
class Someone:
    vehicle: Vehicle
    draw: random.Random
    slips: int = 0
    careful: bool = False
    """Never slips."""
    where: Reach = Reach.SEAT

    def does(
        self,
        moves: Sequence[tuple[int, int]],
        pace_s: float,
        wait_s: float,
        fall_s: float,
        last_only: bool = False,
    ) -> list[WireLook]:
        """A look after each move, or one without any, watched as asked (`SetStep`)."""
        self.vehicle.now_s += READ_S
        if not moves:
            return [self.vehicle.look(0.0, wait_s, fall_s)]
        further = len({control for control, _ in moves}) - 1
        slip_at = -1
        if not self.careful and self.draw.random() < SLIP + FURTHER * further:
            slip_at = self.draw.choice(self._can_slip(moves))
            self.slips += slip_at >= 0
        looks = []
        for i, (control, position) in enumerate(moves):
            self._goes_to(control, position)
            stayed = self._slips(control, position) if i == slip_at else self.vehicle.put(control, position)
            last = i == len(moves) - 1
            longest = wait_s if last_only and not last else fall_s
            looks.append(self.vehicle.look(MOVE_S, wait_s if last else pace_s, longest))
            if stayed is False:
                self.vehicle.put(control, position)
        return looks

    def reads(self) -> list[int]:
        """Positions as they are."""
        self.vehicle.now_s += READ_S + READ_ALOUD_S * len(self.vehicle.positions)
        return list(self.vehicle.positions)

    def _can_slip(self, moves: Sequence[tuple[int, int]]) -> list[int]:
        """Moves that can go wrong: nobody forgets to let a button go."""
        controls = self.vehicle.circuit.controls
        return [i for i, (control, position) in enumerate(moves) if position or not controls[control].springs] or [-1]

    def _goes_to(self, control: int, position: int) -> None:
        one = self.vehicle.circuit.controls[control]
        self.vehicle.now_s += WALK_S * (one.reach is not self.where) + CRANK_S * (position in one.cranks)
        self.where = one.reach

    def _slips(self, control: int, position: int) -> bool:
        """Whether it stays wrong once the wire was looked at."""
        controls = self.vehicle.circuit.controls
        before = self.vehicle.positions[control]
        if self.draw.random() < self.vehicle.circuit.shape.neighbour:
            beside = (control + self.draw.choice((1, -1))) % len(controls)
            stays = [p for p in range(len(controls[beside].positions)) if p not in controls[beside].springs]
            other = [p for p in stays if p != self.vehicle.positions[beside] and p not in controls[beside].cranks]
            if other:
                self.vehicle.put(beside, self.draw.choice(other))
        else:
            near = [p for p in (position - 1, position + 1) if 0 <= p < len(controls[control].positions)]
            wrong = [p for p in near if p not in controls[control].springs]
            if position in controls[control].springs:
                wrong = [before]
            self.vehicle.put(control, self.draw.choice(wrong or [before]))
        return self.draw.random() < STAYS
