"""A crate of invented used parts with mixed faults, sorted as a person would: pace, agreement, and wall time.

Every part is also tested by the full protocol alone, on the same virtual bench; the bin that the crate's rules give to
that is what the crate is held to. Seeds 1 to 9 were used while the rules were written; from 1000 on held out.
"""

import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import faulty
import pace
from report import Goal, close, options
from speed import reference, seconds

from pulldrop.board.errors import BoardError
from pulldrop.board.virtual import VirtualBoard
from pulldrop.jobs.calibrate_virtual import calibrate_board, calibrate_virtual
from pulldrop.jobs.sort import Sorter
from pulldrop.jobs.sort_hand import Hand, Heap
from pulldrop.jobs.sort_setup import Setup
from pulldrop.jobs.specimens import VirtualPart, empty_socket
from pulldrop.judge import decide
from pulldrop.judge.diagnosis import diagnose
from pulldrop.judge.place import choose
from pulldrop.measure import StepStarted, perform
from pulldrop.model.calibration import Calibration
from pulldrop.model.crate import Bin, CrateView, Placed
from pulldrop.model.plan import ContactStep, Plan, TimingStep
from pulldrop.model.reading import Reading
from pulldrop.model.record import RunRecord
from pulldrop.plant import instruments
from pulldrop.protocol.crate import sorting
from pulldrop.store import Store

CRATE = "crate-5t-12v"
CLASSES = ("mini_12v_changeover", "micro_12v_changeover")
SOUND_SHARE, PAIR_SHARE = 0.5, 0.05
"""Of a crate of used parts: no fault, and two faults (assumed); the others have one, every fault as often."""
OBVIOUS = ("coil_open", "coil_open_behind_resistor", "coil_shorted", "diode_reversed", "dead_no", "welded_no",
           "stuck_at_rest", "stuck_operated", "wrong_voltage")  # fmt: skip
"""Faults of which a person would say that a look at the numbers is enough."""
GOOD_MOST_S, REJECT_MOST_S, WALL_MOST_S = 4.0, 1.5, 30.0


@dataclass(frozen=True)
class Part:
    """One part of the crate, and what is wrong with it."""

    faults: tuple[str, ...]
    thing: VirtualPart


@dataclass(frozen=True)
class Outcome:
    """What a crate came to: placings, runs and bench seconds in the order of the parts; `noticed`: parts that came
    twice and were known again; `mistaken`: parts that were taken for another one, until somebody looked."""

    placed: tuple[Placed, ...]
    records: tuple[RunRecord, ...]
    bench_s: tuple[float, ...]
    wall_s: float
    cpu_s: float
    noticed: int
    mistaken: int


def parts(count: int, seed: int) -> list[Part]:
    """A mixed crate."""
    chance = random.Random(f"crate:{seed}")
    made: list[Part] = []
    while len(made) < count:
        faults = _faults(chance)
        base, specimen = faulty.draw(faults, chance.choice(faulty.SEVERITIES), chance)
        if base in CLASSES:
            made.append(Part(faults, VirtualPart(specimen, specimen.model_dump_json())))
    return made


def _faults(chance: random.Random) -> tuple[str, ...]:
    drawn = chance.random()
    if drawn < SOUND_SHARE:
        return ()
    if drawn < SOUND_SHARE + PAIR_SHARE:
        return tuple(chance.choice(faulty.VISIBLE_TOGETHER))
    return (chance.choice([*faulty.FAULTS]),)


def sort(crate: Sequence[Part], seed: int, again: int) -> Outcome:
    """The whole crate, by the virtual hand, on one calibrated virtual bench; then so many parts of it once more."""
    views: list[CrateView] = []
    with Store.open(":memory:") as store, VirtualBoard(instruments.empty(), seed) as board:
        store.add_calibration(calibrate_board(board, seed))
        board.insert(empty_socket().specimen)
        waiting = [one.thing for one in (*crate, *crate[:again])]
        hand = Hand(board, Heap(waiting), board.insert, seed)
        sorter = Sorter(board, store, Setup("campaign", sorting(CRATE), sorting), hand, views.append)
        hand.press = sorter.press
        began, worked = time.perf_counter(), time.process_time()
        sorter.run()
        wall_s, cpu_s = time.perf_counter() - began, time.process_time() - worked
        placed = sorter.parts[: len(crate)]
        records = tuple(store.record(one.run) for one in placed if one.run)
    stages = [view.stage for view in views]
    asked = sum(now == "question" != before for before, now in pairwise(stages))
    noticed = sum(one.same_as is not None for one in sorter.parts)
    mistaken = asked - noticed
    return Outcome(placed, records, tuple(sorter.bench_s[: len(crate)]), wall_s, cpu_s, noticed, mistaken)


def in_full(part: Part, seed: int, calibration: Calibration) -> Bin:
    """The bin that the full protocol gives to a part; what makes the bench trip is looked at again."""
    rules = sorting(CRATE)
    try:
        with VirtualBoard(part.thing.specimen, seed) as board:
            found = [f for f in perform(rules.full, board, calibration) if not isinstance(f, StepStarted)]
    except BoardError:
        return Bin.LOOK_AGAIN
    judged = [decide(one, rules.full.limits.get(one.id)) for one in found]
    return choose(rules.rules, rules.full, judged, diagnose(rules.full, found)).bin


def floor_s(record: RunRecord) -> float:
    """The physical floor of the steps that were made of a screen, with as many makes as were made."""
    found = {one.id: one.finding for one in record.judged if isinstance(one.finding, Reading)}
    plan = record.plan
    steps = tuple(_as_made(step, found) for step in plan.steps if _made(step, found))
    made: Plan = plan.model_copy(update={"steps": steps})
    pull_in, drop_out = (found[id].value if id in found else 0.0 for id in ("pull_in_voltage", "drop_out_voltage"))
    return sum(share.seconds for share in pace.floor(made, pull_in or 0.0, drop_out or 0.0))


FIRST_OF = {"coil": "coil_resistance", "timing": "contact_operated", "contact": "contact_drop_no",
            "thresholds": "pull_in_voltage"}  # fmt: skip


def _made(step: object, found: dict[str, Reading]) -> bool:
    return FIRST_OF[step.measure] in found  # type: ignore[attr-defined]  # every step has its kind


def _as_made(step: object, found: dict[str, Reading]) -> object:
    id = {TimingStep: "operate_time", ContactStep: "contact_drop_no"}.get(type(step), "")
    makes = len(found[id].makes) if id in found else 0
    return step.model_copy(update={"makes": makes}) if makes else step  # type: ignore[attr-defined]


def main() -> int:
    given = options("Sort a crate of invented parts: pace, agreement with the full protocol, wall time.", 200)
    crate = parts(given.parts, given.seed)
    bench = random.Random(given.seed).getrandbits(40)
    again = len(crate) // 10
    done = sort(crate, bench, again)
    with ProcessPoolExecutor(2) as pool:
        wanted = list(pool.map(partial(in_full, seed=bench, calibration=calibrate_virtual(bench)), crate, chunksize=4))
    by_number = {one.number: one for one in done.placed}
    bins = [by_number[number].bin if number in by_number else None for number in range(1, len(crate) + 1)]
    _show(crate, bins, wanted, done)
    loop_s = seconds(reference)
    print(
        f"CPU of one part: {done.cpu_s / (len(crate) + again) / loop_s:.2f} times the reference loop ({loop_s:.3f} s)"
    )
    return close("crate", given, _goals(crate, bins, wanted, done, again))


def _goals(
    crate: Sequence[Part], bins: Sequence[Bin | None], wanted: Sequence[Bin], done: Outcome, again: int
) -> list[Goal]:
    agree = sum(a is b for a, b in zip(bins, wanted, strict=True)) / len(crate)
    kept = sum(a is Bin.KEEP and b is Bin.SCRAP for a, b in zip(bins, wanted, strict=True))
    rows = list(zip(crate, bins, done.bench_s, strict=False))
    good = [s for part, bin, s in rows if not part.faults and bin is Bin.KEEP]
    obvious = [s for part, bin, s in rows if set(part.faults) & set(OBVIOUS) and bin is not Bin.KEEP]
    ratios = [record.bench_s / floor_s(record) for record in done.records if record.plan.protocol.endswith("screen")
              and floor_s(record)]  # fmt: skip
    return [
        Goal("agreement with the full protocol", agree, low=0.99),
        Goal("scrap parts kept", float(kept), high=0.0),
        Goal("parts without a bin", float(sum(one is None for one in bins)), high=0.0),
        Goal("good part, bench s, median", statistics.median(good), high=GOOD_MOST_S),
        Goal("good part, bench s, 95 %", _quantile(good, 0.95), high=GOOD_MOST_S),
        Goal("obvious reject, bench s, 95 %", _quantile(obvious, 0.95), high=REJECT_MOST_S),
        Goal("screen over its floor, median", statistics.median(ratios), high=1.5),
        Goal("same part again, noticed", done.noticed / max(_able(crate[:again], bins), 1), low=0.9),
        Goal("parts taken for another one, share", done.mistaken / len(crate), high=0.02),
        Goal("crate of 200, CPU s", done.cpu_s * 200 / (len(crate) + again), high=WALL_MOST_S),
    ]


def _able(again: Sequence[Part], bins: Sequence[Bin | None]) -> int:
    """Parts of which enough was measured to know them again: those that were kept."""
    return sum(bin in (Bin.KEEP, Bin.LIGHT_DUTY) for _, bin in zip(again, bins, strict=False))


def _quantile(values: Sequence[float], share: float) -> float:
    return sorted(values)[min(int(share * len(values)), len(values) - 1)]


def _show(crate: Sequence[Part], bins: Sequence[Bin | None], wanted: Sequence[Bin], done: Outcome) -> None:
    for number, (part, bin, full) in enumerate(zip(crate, bins, wanted, strict=True), 1):
        if bin is not full:
            placed = next((one for one in done.placed if one.number == number), None)
            told = "; ".join(placed.reasons) if placed else "no bin"
            print(f"number {number} {' and '.join(part.faults) or 'sound'}: {bin}, in full {full}. {told[:200]}")
    screened = sum(record.plan.protocol.endswith("screen") for record in done.records)
    print(
        f"{len(crate)} parts: {dict(Counter(str(one) for one in bins))}; {screened} by the screen alone;"
        f" {done.noticed} known again, {done.mistaken} taken for another; bench {sum(done.bench_s):.0f} s, mean"
        f" {statistics.mean(done.bench_s):.2f} s, longest {max(done.bench_s):.1f} s; wall {done.wall_s:.1f} s, CPU"
        f" {done.cpu_s:.1f} s"
    )


if __name__ == "__main__":
    sys.exit(main())
