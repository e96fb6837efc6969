"""Which leg behind a socket is dead, by a bare Nano's vehicle lead and a 5 W bulb, on drawn circuits; and its readings.

Goals: the right leg first in 90 % of those with a broken leg; a leg at twice its limit or more called alive in at most
3 %, for a bulb loads a feed by 5 W and shows nothing of a lamp's own ground; a leg within its limit called dead or weak
in at most 2 %; true volts inside U in 93 % at least, for parts are rectangular.
"""

import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from circuits import Case, drawn
from report import close, options, share

from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.jobs.vehicle.boards import simulated_hand
from pulldrop.jobs.vehicle.log import Log
from pulldrop.jobs.vehicle.socket import NotAsSaid, SocketCheck
from pulldrop.judge.socket.table import ORDER
from pulldrop.measure.lead import LeadRig, LeadTrouble
from pulldrop.model.vehicle.answers import SocketAnswers
from pulldrop.model.vehicle.lead import CLIPS, LeadSeen
from pulldrop.model.vehicle.socket import SocketFound

ALIVE = ("good", "worth cleaning")


@dataclass(frozen=True)
class Line:
    """One circuit, what was said of it or why nothing was, and how many volts lay inside U."""

    case: Case
    found: SocketFound | None
    refused: str
    inside: tuple[bool, ...]


class Held(LeadRig):
    """Looks, each held against the plant's own volts."""

    def __init__(self, board: LeadBoard) -> None:
        super().__init__(board)
        self._plant = board.plant
        self.inside: list[bool] = []

    def look(self, ground: bool = False) -> LeadSeen:
        seen = super().look(ground)
        truth = self._plant.lead.clip_v(self._plant.time_s)
        pairs = [(seen.battery, truth[0])]
        pairs += [(seen.below(clip), truth[0] - truth[i]) for i, clip in enumerate(CLIPS, 1)]
        self.inside += [abs(read.value - true) <= 1.96 * read.u for read, true in pairs]
        return seen


def one_circuit(seed: int, number: int, log: Path) -> Line:
    """Drawn, clipped, looked at and judged."""
    case = drawn(seed, number)
    board = LeadBoard(case.car, seed * 7919 + number)
    board.plant.lead.coil_ohm = case.coil_ohm
    rig, hand = Held(board), simulated_hand(board.plant)
    answers = SocketAnswers(system_v=case.car.system_v)
    with Log(log / f"{number}.jsonl", "socket", board.identity, case.car.title) as kept:
        try:
            found = SocketCheck(rig, hand, answers, kept, lambda _: None, case.lit).run()
        except (NotAsSaid, LeadTrouble) as error:
            return Line(case, None, str(error), tuple(rig.inside))
    return Line(case, found, "", tuple(rig.inside))


def wrong(line: Line) -> bool:
    """Another leg first than a broken one."""
    legs = {leg for leg in ORDER if line.case.broken(leg)}
    return line.found is not None and line.found.first not in (legs or {None})


def worth_a_look(line: Line) -> bool:
    """That, or a state that contradicts the circuit."""
    states = [(line.case.broken(one.leg), one.state) for one in line.found.legs] if line.found else []
    return wrong(line) or any(state in (ALIVE if broken else ("broken",)) for broken, state in states)


def shown(line: Line) -> None:
    """A circuit of which something wrong was said."""
    drops = ", ".join(f"{leg} {line.case.drops[leg]:.2g}" for leg in ORDER)
    print(f"{line.case.car.title} ({line.case.kind}; {drops}): {line.refused}")
    for one in line.found.legs if line.found else ():
        print(f"    {one.leg} {one.cavity} {one.word}: {one.why}")


def main() -> int:
    """Draw, look, judge and hold against the circuits."""
    given = options(str(__doc__).splitlines()[0], 200)
    with TemporaryDirectory() as folder:
        lines = [one_circuit(given.seed, number, Path(folder)) for number in range(given.parts)]
    for line in lines:
        if worth_a_look(line):
            shown(line)
    told = [line for line in lines if line.found]
    refused = Counter(line.refused.split(":")[0][:40] for line in lines if not line.found)
    print(f"refused: {dict(refused)}")
    states = [(line.case, one) for line in told if line.found for one in line.found.legs]
    twice = [one.state for case, one in states if case.broken(one.leg, 2.0)]
    within = [one.state for case, one in states if not case.broken(one.leg)]
    some = [line for line in told if any(line.case.broken(leg) for leg in ORDER)]
    seen = [line for line in some if any(line.case.broken(leg) for leg in ORDER if leg != "load")]
    goals = [
        share("right leg first", (not wrong(line) for line in some), 0.9),
        share("right leg first where not the load alone is broken", (not wrong(line) for line in seen), 0.93),
        share("alive at twice the limit or more", (one in ALIVE for one in twice), None, 0.03),
        share("dead or weak within its limit", (one == "broken" for one in within), None, 0.02),
        share("true volts inside U", (one for line in lines for one in line.inside), 0.93),
    ]
    return close("leads", given, goals)


if __name__ == "__main__":
    sys.exit(main())
