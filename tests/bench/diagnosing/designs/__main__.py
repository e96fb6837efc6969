"""Is the diagnosis right about relays of designs that nobody fitted? Sound and faulty parts of two plants, no sheet.

Every part is of a design of its own, drawn over the windows that makers publish (draw.py), from the host's plant and
from one that shares nothing with it. With `--siblings N` parts come in lots of one design: sound ones, each beside N
others of them, one with another suppressor, and faults that only a reference tells from another design. Seeds below
1000 may be tuned on; designs of seeds from 1000 on are held out.
"""

import sys
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import chain, pairwise

from diagnosis import UNSEEN
from report import AnyGoal, Goal, close, parser, share

from designs import faults
from designs.case import Case, Lot, Plant, Result, cases, lots, one_lot, one_part
from designs.compiled import run_compiled
from designs.draw import HELD_OUT_FROM
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.model.bench.abilities import Build

SOUND, EXCHANGED = "sound", "sound, another suppressor"
FALSE_ALARM = {1.0: 0.01, 1.5: 0.03}
BESIDE_SIBLINGS = 0.005
UNLIKE = {1.0: 0.05, 1.5: 0.15}
TAKE_A_REFERENCE = {one.id for one in FAULTS if one.called}
"""Without siblings these are at most what a part unlike its class may have."""
BINS = (0.0, 0.25, 0.5, 0.75, 0.9, 0.99, 1.0)
COMPILED = ("equations", "around", "held", "relay", "iron", "warmth", "design")
LEAST_STATEMENTS = 100
"""A bin of fewer statements is shown, and held to no goal."""


def campaign(listed: Sequence[Case | Lot], seed: int, workers: int, build: Build = "full") -> list[Result]:
    """All results, in the order of the cases."""
    work = partial(_results, seed=seed, build=build)
    if workers == 1:
        return list(chain.from_iterable(map(work, listed)))
    with ProcessPoolExecutor(workers) as pool:
        return list(chain.from_iterable(pool.map(work, listed)))


def _results(of: Case | Lot, seed: int, build: Build) -> list[Result]:
    return one_lot(of, seed) if isinstance(of, Lot) else [one_part(of, seed, build)]


Statement = tuple[float, bool]
"""A probability that was stated of a named cause, and whether that cause was true."""


def statements(results: Sequence[Result]) -> list[Statement]:
    """Of every cause that was named of any part."""
    return [(weight, name in one.case.right) for one in results for name, weight in one.named]


def binned(stated: Sequence[Statement]) -> list[tuple[float, float, list[Statement]]]:
    """Statements by their probability; the last bin holds both of its ends."""
    return [
        (low, high, [one for one in stated if low <= one[0] < high or one[0] == high == BINS[-1]])
        for low, high in pairwise(BINS)
    ]


def brier(stated: Sequence[Statement]) -> float:
    """Mean square of what was stated less what was true; 0 of none."""
    return sum((weight - right) ** 2 for weight, right in stated) / max(len(stated), 1)


def goals(results: Sequence[Result], width: float, siblings: int, build: Build = "full") -> list[AnyGoal]:
    """The campaign's figures beside what is asked of them; of an evening bench, by the faults that it can see."""
    made: list[AnyGoal] = []
    for plant in sorted({one.case.plant for one in results}):
        mine = [one for one in results if one.case.plant == plant]
        sound = [one for one in mine if not one.case.fault and not one.case.exchanged]
        sick = [one for one in mine if one.case.fault]
        high = BESIDE_SIBLINGS if siblings else FALSE_ALARM[width]
        made.append(share(f"{plant}: a fault named on sound parts", (bool(r.named) for r in sound), high=high))
        if siblings:
            other = (bool(r.named) for r in mine if r.case.exchanged)
            made.append(share(f"{plant}: a fault named on sound parts of another suppressor", other, high=high))
            alone = [one.alone for one in mine if one.alone]
            named, odd = (
                f"{plant}: sound parts without their siblings, {what}" for what in ("a fault named", "unlike")
            )
            made.append(share(named, (fault for fault, _ in alone), high=FALSE_ALARM[width]))
            made.append(share(odd, (unlike for _, unlike in alone), high=UNLIKE[width]))
        unlike = (one.unlike is not None for one in sound)
        made.append(share(f"{plant}: sound parts unlike their class or siblings", unlike, high=UNLIKE[width]))
        plain = [one for one in sick if siblings or one.case.fault not in TAKE_A_REFERENCE]
        plain = [one for one in plain if build == "full" or one.case.fault not in UNSEEN]
        first = (r.first in r.case.right for r in plain)
        beside = "beside siblings" if siblings else "of those known without a reference"
        made.append(share(f"{plant}: true cause first, {beside}", first, low=0.95 if build == "full" else 0.90))
        held = chain.from_iterable(r.readings for r in sound)
        made.append(share(f"{plant}: true readings inside U", (one.inside for one in held), low=0.93))
        grave = [one for one in sick if one.case.fault in faults.GRAVE]
        silent = sum(r.passed and not r.named and r.unlike is None for r in grave)
        made.append(Goal(f"{plant}: passes of grave faults with nothing said", float(silent), high=0.0))
    stated = statements(results)
    for low, high, inside in binned(stated):
        if len(inside) >= LEAST_STATEMENTS:
            off = abs(sum(w for w, _ in inside) - sum(right for _, right in inside)) / len(inside)
            made.append(Goal(f"stated {low:g} to {high:g}: off the truth by", off, high=0.10))
    made.append(Goal("Brier score of all statements", brier(stated), high=0.08))
    return made


def kind(case: Case) -> str:
    """Its fault; of a sound part whether it has its siblings' suppressor."""
    return case.fault or (EXCHANGED if case.exchanged else SOUND)


def said(result: Result) -> str:
    """The first that was named; else what the part was found unlike its class for."""
    if result.first or result.unlike is None:
        return result.first or "nothing"
    return f"unlike ({result.unlike[0] if result.unlike else 'another design'})"


def print_results(results: Sequence[Result]) -> None:
    """What was named of whom, how sure, and which readings miss their truth."""
    for plant in sorted({one.case.plant for one in results}):
        mine = [one for one in results if one.case.plant == plant]
        for true in (SOUND, EXCHANGED, *faults.CHANGES):
            row = Counter(said(one) for one in mine if kind(one.case) == true)
            if row:
                line = ", ".join(f"{name} {n}" for name, n in row.most_common())
                print(f"{plant:6} {true:26} {row.total():4}  {line}")
        sound = [one for one in mine if not one.case.fault]
        failed = Counter(chain.from_iterable(one.failed for one in sound))
        print(f"{plant}: sound parts that failed a limit: {sum(bool(r.failed) for r in sound)} of {len(sound)}", end="")
        print("".join(f"; {id} {n}" for id, n in failed.most_common()))
        missed = Counter(one.id for r in sound for one in r.readings if not one.inside)
        of = Counter(one.id for r in sound for one in r.readings)
        warned = sum(r.passed and bool(r.named) for r in mine if r.case.fault in faults.GRAVE)
        print(f"{plant}: grave faults that met all limits and were named: {warned}")
        print(f"{plant}: outside U: " + (", ".join(f"{id} {n} of {of[id]}" for id, n in missed.items()) or "none"))
        for one in mine:
            if one.trouble:
                print(f"did not end: {one.case}: {one.trouble}")
    for low, high, inside in binned(statements(results)):
        if inside:
            mean, right = sum(w for w, _ in inside) / len(inside), sum(r for _, r in inside) / len(inside)
            few = "" if len(inside) >= LEAST_STATEMENTS else f" (fewer than {LEAST_STATEMENTS}: no goal)"
            print(f"stated {low:g} to {high:g}: {len(inside)} statements, mean {mean:.2f}, true {right:.2f}{few}")


def main() -> int:
    made = parser(__doc__.splitlines()[0], 100)
    made.add_argument("--plant", choices=("first", "second"), help="only this one; default half of the parts each")
    made.add_argument("--width", type=float, choices=tuple(FALSE_ALARM), default=1.0, help="of the windows; default 1")
    made.add_argument("--siblings", type=int, default=0, help="sound parts of its design beside each; default none")
    made.add_argument("--build", choices=("full", "evening"), default="full", help="of the benches; default full")
    made.add_argument("--workers", type=int, default=2, help="processes; default 2")
    made.add_argument(
        "--compiled", action="store_true", help="compile the second plant's physics first, for a long run"
    )
    given = made.parse_args()
    if given.siblings and given.build != "full":
        made.error("siblings are drawn for full benches alone")
    if given.compiled:
        run_compiled("second", COMPILED)
    plants: tuple[Plant, ...] = (given.plant,) if given.plant else ("first", "second")
    names = [name for name in faults.CHANGES if not given.siblings or name in TAKE_A_REFERENCE]
    n, width = given.parts, given.width
    listed = lots(plants, width, n, given.siblings, names) if given.siblings else cases(plants, width, n, names)
    results = campaign(listed, given.seed, given.workers, given.build)
    kept = "held out" if given.seed >= HELD_OUT_FROM else "for tuning"
    print(f"Designs: {len(results)} invented parts, each of a design of its own; width {given.width:g}, seed", end=" ")
    print(f"{given.seed} ({kept}), each on a calibrated {given.build} virtual bench of its own.")
    print_results(results)
    return close("designs", given, goals(results, given.width, given.siblings, given.build))


if __name__ == "__main__":
    sys.exit(main())
