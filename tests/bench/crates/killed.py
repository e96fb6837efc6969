"""A crate of invented parts, its program killed at random moments: every part in the bin of the full protocol, once.

The parts are those of the campaign `crate`; the world around the bench outlives the program (tests/faults). With
`--board emulated` the compiled firmware sorts, 20 parts unless told otherwise.
"""

import argparse
import random
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

import crate
from killed_crate import (
    ENDED,
    KILLED,
    SEED,
    World,
    all_is_right,
    binned,
    binned_and,
    in_a_process,
    ledger_of,
    sort,
    unharmed,
)
from report import Goal, close, parser

from pulldrop.model.bench.calibration import nominal
from pulldrop.store import Store

KILLS = 10
PARTS = {"virtual": 200, "emulated": 20}
PART_S = {"virtual": 1.0, "emulated": 12.0}
"""Longest time between a part's bin and a kill: about as long as a start and a part take."""


def main() -> int:
    given = options()
    parts, chance = crate.parts(given.parts, given.seed), random.Random(given.seed)
    things = [one.thing for one in parts]
    folder = Path(tempfile.mkdtemp())
    work = partial(sort, folder, things, unharmed, given.board)
    kills, began = 0, time.monotonic()
    for sorted_ in sorted(chance.choices(range(given.parts - 1), k=KILLS)):
        how, _ = in_a_process(work, binned_and(folder, sorted_, chance.uniform(0.0, PART_S[given.board])))
        kills += how == KILLED
        print(f"killed with {binned(folder)} parts in bins", flush=True)
    how, _ = in_a_process(work)
    print(f"sorted in {time.monotonic() - began:.0f} s", flush=True)
    bins = [bin for _, bin in sorted(World.load(folder / "world.json", len(things)).bins.values())]
    told = lost(folder, bins)
    by_screen = screened(folder, len(things))
    compared = crate.compare(parts, [*map(crate.Bin, bins)], by_screen, SEED, nominal(SEED))
    crate.told(parts, [*map(crate.Bin, bins)], by_screen, compared)
    goals = [
        Goal("kills", float(kills), low=float(KILLS)),
        Goal("came to its end", float(how == ENDED), low=1.0),
        Goal("parts lost, doubled or left over", float(bool(told)), high=0.0),
        Goal("in another bin than the full protocol gives", float(len(compared.wrong)), high=0.0),
        Goal("for which the full protocol gives more than one bin", float(len(compared.given))),
    ]
    return close("killed", given, goals)


def options() -> argparse.Namespace:
    """What every campaign takes, and the board."""
    ours = parser(f"Sort a crate, its program killed {KILLS} times at random moments.", PARTS["virtual"])
    ours.add_argument("--board", choices=[*PARTS], default="virtual", help="emulated: the compiled firmware")
    ours.set_defaults(parts=None)
    given = ours.parse_args()
    given.parts = given.parts or PARTS[given.board]
    return given


def lost(folder: Path, bins: list[str]) -> str:
    """What is wrong with the count: a part lost, doubled or left over; empty when nothing is."""
    try:
        all_is_right(folder, bins)
    except AssertionError as wrong:
        print(f"a part lost, doubled or left over: {wrong}")
        return str(wrong)
    return ""


def screened(folder: Path, count: int) -> list[bool]:
    """Of each part in the order of the heap, whether the screen placed it alone."""
    index_of = {number: index for number, (index, _) in World.load(folder / "world.json", count).bins.items()}
    alone = [False] * count
    with Store.open(str(folder / "store.db")) as store:
        for placed in ledger_of(store).parts:
            quick = not placed.run or store.record(placed.run).plan.protocol == crate.CRATE.screen.protocol
            alone[index_of[placed.number]] = quick
    return alone


if __name__ == "__main__":
    sys.exit(main())
