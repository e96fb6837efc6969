"""Every wire of the bench, open or shorted to its neighbour: no bad part passes, no good part fails.

For each fault of `broken_bench.wires` the bench first tests itself with an empty socket; then parts are tested on it,
even where nobody should: bad ones and good ones. Each fault is noticed by the self-test, ends runs as bench trouble or
without a verdict, or leaves every verdict as it is on a whole bench.

    sh tests/bench/run wires --seed 1 --parts 4 --emulated 40

`--emulated`: so many of the faults, drawn by the seed, are also tried on the compiled firmware, each with one bad part
and one good one.
"""

import math
import random
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial

import report
import specimens as drawn
from broken_bench import wires as broken
from broken_bench.boards import BrokenBoard, BrokenMachine, BrokenPort
from calibrated import calibrate_virtual

from pulldrop.board.contract import Board
from pulldrop.board.errors import BoardError
from pulldrop.board.serial import SerialBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.test_one import by_the_part
from pulldrop.jobs.self_test.bench import self_test
from pulldrop.judge import decide, verdict
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.reading import Finding, Reading
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

BAD = ("burnt-no", "burnt-nc", "dead-nc", "welded-no", "open-coil")
PLANNED = ("relay-full", "class-mini-12v-form-c")


@dataclass(frozen=True)
class Case:
    """One fault of the wiring, empty for none; the part in the socket, its name in stock, or good by its number;
    whether on the compiled firmware."""

    wire: str
    part: str
    number: int
    emulated: bool = False


@dataclass(frozen=True)
class Result:
    """What came of it. `word`: pass, fail or incomplete; `bench trouble` and its sentence in `why`; `read`: value
    and expanded uncertainty of every reading."""

    case: Case
    noticed: str
    word: str
    why: str = ""
    read: dict[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def good(self) -> bool:
        """Whether the part is sound."""
        return self.case.part == "good"


def part(case: Case, seed: int) -> Specimen:
    """The part of a case, the same on every bench."""
    if case.part != "good":
        return specimens.find(case.part).specimen
    return drawn.specimen("mini_12v_changeover", random.Random(f"{seed}:good:{case.number}"))


def noticed_by(board: Board, calibration: Calibration) -> str:
    """Titles of what the self-test finds wrong with an empty socket, or nothing."""
    try:
        return ", ".join(check.title for check in self_test(board, calibration) if check.state == "wrong")
    except BoardError as error:
        return str(error)


def tested(board: Board, calibration: Calibration, at: Plan) -> tuple[str, str, dict[str, tuple[float, float]]]:
    """The verdict's word on what is in the socket, its summary or the trouble, and what was read."""
    found: list[Finding] = []
    try:
        found.extend(one for one in perform(at, board, calibration) if not isinstance(one, StepStarted))
    except BoardError as error:
        judged = [decide(one, at.limits.get(one.id)) for one in found]
        word = verdict(at, judged, "bench trouble", str(error), by_the_part(error))
        return ("fail" if word.overall is Overall.FAIL else "bench trouble"), str(error), {}
    read = {
        one.id: (one.value, 2 * one.standard_uncertainty)
        for one in found
        if isinstance(one, Reading) and one.value is not None
    }
    word = verdict(at, [decide(one, at.limits.get(one.id)) for one in found], "complete")
    return word.overall.value, word.found, read


@contextmanager
def opened(case: Case, bench: int) -> Iterator[tuple[Board, BrokenBoard | BrokenMachine]]:
    """A board with an empty socket, and what breaks its wires and takes parts."""
    if not case.emulated:
        with BrokenBoard(specimens.empty_socket().specimen, bench) as board:
            yield board, board
        return
    port = BrokenPort(specimens.empty_socket().text, bench)
    with port, SerialBoard(port, "the emulator", port.clock, port.sleep) as real:
        yield real, port.machine


def one_case(case: Case, seed: int) -> Result:
    """Calibrate a whole bench, break its wire, test the bench, then the part."""
    bench = random.Random(f"{seed}:{case.number}").getrandbits(40)
    calibration = calibrate_virtual(bench)
    with opened(case, bench) as (board, around):
        around.break_wires(broken.effect(case.wire))
        noticed = noticed_by(board, calibration)
        try:
            board.off()
        except BoardError as error:
            noticed = noticed or str(error)
        around.insert(part(case, seed))
        word, why, read = tested(board, calibration, plan(*PLANNED))
    return Result(case, noticed, word, why, read)


def cases(parts: int, names: Sequence[str] = broken.names()) -> list[Case]:
    """Each fault, and none, with every bad part and `parts` good ones."""
    listed = [(bad, number) for number, bad in enumerate(BAD)] + [("good", number) for number in range(parts)]
    return [Case(wire, name, number) for wire in ("", *names) for name, number in listed]


def emulated(count: int, seed: int) -> list[Case]:
    """As many faults drawn, each with a bad part and a good one, on the compiled firmware; and the good one alone."""
    drawn_wires = random.Random(f"{seed}:emulated").sample(broken.names(), min(count, len(broken.names())))
    tried = [Case(wire, name, 0, True) for wire in drawn_wires for name in (BAD[0], "good")]
    return [Case("", "good", 0, True), *tried] if tried else []


def campaign(listed: Sequence[Case], seed: int, workers: int = 2) -> list[Result]:
    """All results, in the order of the cases."""
    work = partial(one_case, seed=seed)
    if workers == 1:
        return [work(case) for case in listed]
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(work, listed, chunksize=4))


def wrong_pass(result: Result) -> bool:
    """A bad part that passes on a bench whose self-test found nothing."""
    return not result.good and result.word == "pass" and not result.noticed


def wrong_fail(result: Result) -> bool:
    """A good part that fails there."""
    return result.good and result.word == "fail" and not result.noticed


def unlike(results: Sequence[Result]) -> list[tuple[Result, str]]:
    """Readings of good parts that pass, with a fault that nobody noticed, further from those on the whole bench than
    both uncertainties together, twice over."""
    whole = {(r.case.number, r.case.emulated): r.read for r in results if r.good and not r.case.wire}
    found = []
    for r in results:
        if r.good and r.word == "pass" and not r.noticed:
            for id, (value, u) in r.read.items():
                other, other_u = whole[r.case.number, r.case.emulated].get(id, (value, u))
                if abs(value - other) > 2 * math.hypot(u, other_u):
                    found.append((r, id))
    return found


def goals(results: Sequence[Result]) -> list[report.AnyGoal]:
    """None of either; and no pass of a bad part even where the self-test was left out."""
    made: list[report.AnyGoal] = []
    bad, good = [r for r in results if not r.good], [r for r in results if r.good]
    unasked = [r.word == "pass" for r in bad]
    made.append(report.share("wrong passes", map(wrong_pass, bad), high=0))
    made.append(report.share("wrong passes without a self-test", unasked, high=0))
    made.append(report.share("wrong fails", map(wrong_fail, good), high=0))
    made.append(
        report.Goal("readings of unnoticed faults unlike the whole bench's", float(len(unlike(results))), high=0)
    )
    whole = [r.word == "pass" and not r.noticed for r in good if not r.case.wire]
    made.append(report.share("good parts pass on a whole bench", whole, low=1))
    return made


def print_table(results: Sequence[Result]) -> None:
    """One line a fault: what the self-test says, and how the runs ended."""
    for wire in dict.fromkeys(r.case.wire for r in results):
        own = [r for r in results if r.case.wire == wire]
        said = Counter(f"{'good' if r.good else r.case.part}: {r.word}" for r in own)
        noticed = next((r.noticed for r in own if r.noticed), "nothing")
        print(f"{wire or 'whole':26} self-test: {noticed[:60]:60} " + ", ".join(f"{k} {n}" for k, n in said.items()))


def main() -> int:
    parser = report.parser(__doc__.splitlines()[0], 4)
    parser.add_argument("--emulated", type=int, default=0, help="faults tried on the compiled firmware too; default 0")
    given = parser.parse_args()
    results = campaign([*cases(given.parts), *emulated(given.emulated, given.seed)], given.seed)
    wires = f"{len(broken.OPEN)} open and {len(broken.SHORT)} shorted"
    print(f"Wires: {wires}, {len(BAD)} bad parts and {given.parts} good.")
    print_table(results)
    for r in results:
        if wrong_pass(r) or wrong_fail(r):
            print(f"WRONG: {r}")
    for r, id in unlike(results):
        print(f"UNLIKE: {r.case} {id} {r.read[id]}")
    return report.close("wires", given, goals(results))


if __name__ == "__main__":
    sys.exit(main())
