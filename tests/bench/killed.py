"""A crate of invented parts, its program killed at random moments: every part in the bin of the full protocol, once.

The parts are those of the campaign `crate`; the world around the bench outlives the program (tests/faults).
"""

import random
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import crate
from report import Goal, close, options

from pulldrop.model.calibration import nominal

sys.path.append(str(Path(__file__).parents[1] / "faults"))
from killed_crate import ENDED, KILLED, SEED, World, all_is_right, in_a_process, sort

KILLS = 10
LIVES_S = (2.0, 8.0)
"""How long the program lives before each kill."""


def main() -> int:
    given = options(f"Sort a crate, its program killed {KILLS} times at random moments.", 200)
    parts, chance = crate.parts(given.parts, given.seed), random.Random(given.seed)
    things = [one.thing for one in parts]
    folder = Path(tempfile.mkdtemp())
    kills = 0
    for _ in range(KILLS):
        how, _ = in_a_process(partial(sort, folder, things, None), kill_after_s=chance.uniform(*LIVES_S))
        kills += how == KILLED
        print(f"killed with {len(World.load(folder / 'world.json', len(things)).bins)} parts in bins", flush=True)
    how, _ = in_a_process(partial(sort, folder, things, None))
    with ProcessPoolExecutor(2) as pool:
        full = pool.map(partial(crate.in_full, seed=SEED, calibration=nominal(SEED)), parts, chunksize=4)
    wanted = [one.value for one in full]
    bins = World.load(folder / "world.json", len(things)).bins
    differ = sum(bin != wanted[index] for index, bin in bins.values())
    told = ""
    try:
        all_is_right(
            folder, [bin for _, (_, bin) in sorted((index, (number, bin)) for number, (index, bin) in bins.items())]
        )
    except AssertionError as wrong:
        told = f"a part lost, doubled or left over: {wrong}"
        print(told)
    goals = [
        Goal("kills", float(kills), low=float(KILLS)),
        Goal("came to its end", float(how == ENDED), low=1.0),
        Goal("parts lost, doubled or left over", float(bool(told)), high=0.0),
        Goal("bins unlike those of the full protocol, share", differ / len(parts), high=0.01),
    ]
    return close("killed", given, goals)


if __name__ == "__main__":
    sys.exit(main())
