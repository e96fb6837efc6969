"""Does `pulldrop pair` say of fuses and lamps what is true: values inside U, no bad one passed, the true cause first?

Seeds below 1000 were used while limits and bands were written; those from 1000 on are held out, and so is the other
world of every seed. *Passed*: a pass without a named fault.
"""

import argparse
import random
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

from drawn_pairs import FUSE_FAULTS, LAMP_FAULTS, DrawnPair, World, draw
from report import AnyGoal, close, parser, share

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.judge import judge_finding, verdict
from pulldrop.judge.diagnosis import diagnose
from pulldrop.measure.perform import StepStarted, perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.reading import Reading
from pulldrop.model.verdict import Overall
from pulldrop.protocol.load import plan


@dataclass(frozen=True)
class Result:
    """One part: the verdict, faults named in order, and for each true value whether it lies inside U."""

    drawn: DrawnPair
    overall: Overall
    named: tuple[str, ...]
    inside: tuple[bool, ...]
    stated: bool

    @property
    def passed(self) -> bool:
        """Called good without a word of doubt."""
        return self.overall is Overall.PASS and not self.named


def one_part(number: int, seed: int, world: World) -> Result:
    """Draw a part and a bench, uncalibrated, and test it."""
    chance = random.Random(f"pairings:{world}:{seed}:{number}")
    drawn = draw(chance, world)
    made, bench = plan("pair-quick", drawn.rating), chance.getrandbits(30)
    with EveningBoard(drawn.part, bench) if drawn.evening else VirtualBoard(drawn.part, bench) as board:
        calibration = nominal(board.identity.serial, board.identity.build)
        found = {one.id: one for one in perform(made, board, calibration) if not isinstance(one, StepStarted)}
    faults = diagnose(made, found.values()).faults
    word = verdict(made, [judge_finding(made, one) for one in found.values()], "complete", faults=faults)
    readings = [(found.get(id), true) for id, true in drawn.true.items()]
    inside = tuple(
        abs(one.number - true) <= one.expanded_uncertainty
        for one, true in readings
        if isinstance(one, Reading) and one.bound == "="
    )
    return Result(drawn, word.overall, tuple(one.id for one in faults), inside, len(inside) == len(readings))


def goals(results: Sequence[Result]) -> list[AnyGoal]:
    """The campaign's figures beside what is asked of them."""
    sound = [one for one in results if not one.drawn.fault]
    bad = [one for one in results if one.drawn.fault]
    return [
        share("true values inside U", chain.from_iterable(one.inside for one in results), low=0.93),
        share("bad ones passed", (one.passed for one in bad), high=0.01),
        share("true cause first", (one.named[:1] == (one.drawn.fault,) for one in bad), low=0.95),
        share("sound ones failed or with a fault named", (_alarm(one) for one in sound), high=0.01),
        share("sound ones passed", (one.passed for one in sound)),
        share("values stated, of those that could be", (one.stated for one in results if one.drawn.true)),
    ]


def _alarm(one: Result) -> bool:
    return bool(one.named) or one.overall is Overall.FAIL


def print_table(results: Sequence[Result]) -> None:
    """By fault: how many, the true cause first, and what came first instead."""
    print(f"{'fault':13} parts  first  passed  instead")
    for fault in ("", *FUSE_FAULTS, *LAMP_FAULTS):
        own = [one for one in results if one.drawn.fault == fault]
        instead = Counter(one.named[0] if one.named else str(one.overall) for one in own if one.named[:1] != (fault,))
        right = sum(one.named[:1] == (fault,) for one in own) if fault else sum(not one.named for one in own)
        print(f"{fault or 'sound':13} {len(own):5} {right:6} {sum(one.passed for one in own):7}  {dict(instead) or ''}")


def main() -> int:
    options = parser(__doc__ or "", 400)
    options.add_argument("--other", action="store_true", help="the other world: handbook lamps, fuses of other makers")
    given: argparse.Namespace = options.parse_args()
    world: World = "other" if given.other else "own"
    results = [one_part(number, given.seed, world) for number in range(given.parts)]
    print(f"Pairs: {len(results)} invented fuses and lamps of the {world} world, seed {given.seed}.")
    print_table(results)
    return close("pairings", given, goals(results))


if __name__ == "__main__":
    sys.exit(main())
