"""Does an evening bench say what the full one says? Sound and faulty 12 V parts, each on both, by the quick test.

Neither bench knows the other; the full one is calibrated, the evening one is not, and a drawn person turns its knob.
`--parts`: of each fault in each severity, and ten times as many sound ones. Seeds from 1000 on are held out.
"""

import random
import sys
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

import faulty
from calibrated import calibrate_virtual
from report import AnyGoal, Goal, close, parser, share

from pulldrop.board.errors import BoardError
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.run.boards import virtual_hand
from pulldrop.judge import judge_finding, verdict
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.abilities import OF_BUILD
from pulldrop.model.bench.calibration import Calibration, nominal
from pulldrop.model.run.hand import Hand
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

ABLE = OF_BUILD["evening"]
TRIES = 40
"""Draws of a part until it is one of 12 V."""
DECIDED = (Overall.PASS, Overall.FAIL)


@dataclass(frozen=True)
class Said:
    """What one bench says: the verdict's word, or "trouble"; ids that failed, and those that it measured."""

    word: str
    failed: frozenset[str]
    tested: frozenset[str]


@dataclass(frozen=True)
class Result:
    """One part on both benches."""

    faults: tuple[str, ...]
    severity: int
    full: Said
    evening: Said

    @property
    def decided(self) -> bool:
        """Whether both say pass or fail."""
        return {self.full.word, self.evening.word} <= set(DECIDED)

    @property
    def alike(self) -> bool:
        """Whether both say the same, but for what the evening bench says it does not test."""
        beyond = bool(self.full.failed) and not self.full.failed & self.evening.tested
        return self.full.word == self.evening.word or (beyond and self.evening.word == Overall.PASS)

    @property
    def let_through(self) -> set[str]:
        """What the full bench failed and the evening one says it tested, of a part that it passes."""
        return set(self.full.failed & self.evening.tested) if self.evening.word == Overall.PASS else set()


def said(board: VirtualBoard, at: Plan, calibration: Calibration, hand: Hand | None) -> Said:
    """One bench's word on the part in its socket."""
    found = []
    try:
        with board:
            found += [f for f in perform(at, board, calibration, hand=hand) if not isinstance(f, StepStarted)]
    except BoardError:
        return Said("trouble", frozenset(), frozenset())
    judged = [judge_finding(at, one) for one in found]
    failed = frozenset(one.id for one in judged if one.outcome is Outcome.FAIL)
    tested = frozenset(one.id for one in judged if one.outcome is not Outcome.NOT_TESTED)
    return Said(verdict(at, judged, "complete").overall, failed, tested)


def one_part(case: tuple[tuple[str, ...], int, int], seed: int) -> Result | None:
    """Draw one part and ask both benches; None where no 12 V part has such a fault."""
    faults, severity, number = case
    chance = random.Random(f"{seed}:{faults}:{severity}:{number}")
    drawn = _drawn(faults, severity, chance)
    if drawn is None:
        return None
    at, specimen = drawn
    benches = chance.getrandbits(40), chance.getrandbits(40)
    full = said(VirtualBoard(specimen, benches[0]), at, calibrate_virtual(benches[0]), None)
    board = EveningBoard(specimen, benches[1])
    hand = virtual_hand(board.exchange_leads, board.plant)
    return Result(faults, severity, full, said(board, at.fitted(ABLE, True), nominal(benches[1], "evening"), hand))


def _drawn(faults: tuple[str, ...], severity: int, chance: random.Random) -> tuple[Plan, Specimen] | None:
    for _ in range(TRIES):
        base, specimen = faulty.draw(faults, severity, chance)
        at = plan("relay-quick", faulty.sheet(base))
        if at.rating.nominal == ABLE.supply_v:
            return at, specimen
    return None


def campaign(seed: int, parts: int, workers: int = 2) -> list[Result]:
    """All parts; those that no 12 V base has are left out."""
    cases = [((f,), s, n) for f in faulty.FAULTS for s in faulty.SEVERITIES for n in range(parts)]
    cases += [((), 0, n) for n in range(10 * parts)]
    work = partial(one_part, seed=seed)
    if workers == 1:
        made = [work(case) for case in cases]
    else:
        with ProcessPoolExecutor(workers) as pool:
            made = list(pool.map(work, cases, chunksize=2))
    return [one for one in made if one is not None]


def goals(results: Sequence[Result]) -> list[AnyGoal]:
    """What is asked of them."""
    grave = [r for r in results if set(r.faults) & set(faulty.GRAVE)]
    passed = sum(r.evening.word == Overall.PASS and r.full.word != Overall.PASS for r in grave)
    return [
        share("same word where both decide", (r.full.word == r.evening.word for r in results if r.decided), low=0.98),
        share("the same but for what it says it does not test", (r.alike for r in results if r.decided), low=0.98),
        share("unsure on the evening bench", (r.evening.word == Overall.UNSURE for r in results), high=0.10),
        Goal("passes where the full bench fails on what was tested", sum(bool(r.let_through) for r in results), high=0),
        Goal("passes of grave faults that the full bench does not pass", passed, high=0),
        Goal("runs that did not end", sum(r.evening.word == "trouble" != r.full.word for r in results), high=0),
    ]


def main() -> int:
    given = parser("Verdicts of the evening bench beside those of the full one.", 3).parse_args()
    results = campaign(given.seed, given.parts)
    print(f"Evening and full bench: {len(results)} invented 12 V parts, seed {given.seed}. All SIMULATED.")
    for (full, evening), count in Counter((str(r.full.word), str(r.evening.word)) for r in results).most_common():
        print(f"{count:5}  full {full:22} evening {evening}")
    for r in results:
        if r.let_through or (r.decided and r.full.word != r.evening.word):
            print(f"apart: {r.faults} severity {r.severity}: full {r.full.word} by {sorted(r.full.failed)},"
                  f" evening {r.evening.word} by {sorted(r.evening.failed)}")  # fmt: skip
    return close("evening", given, goals(results))


if __name__ == "__main__":
    sys.exit(main())
