"""Does the bench learn the tables of random switches, turned by random people, on full and bare boards?

Seeds below 1000 were used while the rules were written; those from 1000 on are held out. *Right*: every position that
was rested on, what it joins, what springs back, and no wrong passage. *Marked*: the table states a doubt. Each table is
also judged by the design of its switch, and by that design with one joint more or less.
"""

import argparse
import random
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

from drawn_switches import KINDS, DrawnSwitch, TrueSwitch, draw, joined
from other_people import OtherPerson
from report import AnyGoal, close, parser, share
from turned import learnt

from pulldrop.judge import judge_finding
from pulldrop.measure.positions.learn import Live
from pulldrop.model.limit import Source
from pulldrop.model.part.kinds.switch import SwitchRating
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.model.reading import Reading
from pulldrop.model.verdict import Outcome
from pulldrop.plant.switch.person import Person
from pulldrop.protocol.load import plan

RUN_THROUGH = ("pull", "ignition")
"""Kinds whose contacts run through neighbouring positions; a scrambled one may join the same by other contacts."""
LADDER_SHARE = 0.08
"""By which a ladder's step may be off: a scan's resistors, and a contact of some tens of milliohms."""


@dataclass(frozen=True)
class Result:
    """One switch: what was true, what was found (None: refused as live), and everything wrong with it; the outcome by
    its design, and by that with one joint changed (None: a ladder, or no table)."""

    drawn: DrawnSwitch
    table: SwitchTable | None
    wrong: tuple[str, ...]
    as_designed: Outcome | None = None
    one_joint_off: Outcome | None = None

    @property
    def marked(self) -> bool:
        """The table says itself that it may be wrong."""
        return self.table is None or bool(self.table.doubts)


def faults_of(truth: TrueSwitch, table: SwitchTable) -> tuple[str, ...]:
    """Everything in which a table is not the true one."""
    found = [frozenset(frozenset(one) for one in row.state.groups) for row in table.positions]
    if truth.ladder_ohm:
        return _ladder(truth, table)
    told = []
    if set(found) != set(truth.rows) or len(found) != len(truth.rows):
        told.append("positions")
        return tuple(told)
    place = [found.index(row) for row in truth.rows]
    for number, at in enumerate(place):
        row, to = table.positions[at], truth.springs.get(number)
        if (
            row.sprung is None
            or row.sprung is not (to is not None)
            or (row.sprung and row.springs_to != place[to or 0])
        ):
            told.append("spring")
    for one in table.passages:
        neighbours = abs(place.index(one.start) - place.index(one.end)) == 1
        if not neighbours or truth.lacks or truth.loose:
            continue
        if one.between is not None and (one.between == "make before break") is not truth.overlaps:
            told.append("passage")
        if one.opens and truth.kind in RUN_THROUGH:
            told.append("dead spot")
    if truth.inside != len(table.inside):
        told.append("inside")
    return tuple(told)


def _ladder(truth: TrueSwitch, table: SwitchTable) -> tuple[str, ...]:
    read = sorted(one.ohm for row in table.positions for one in row.state.through)
    near = [abs(a - b) <= LADDER_SHARE * b + 1 for a, b in zip(read, sorted(truth.ladder_ohm), strict=False)]
    return () if len(read) == len(truth.ladder_ohm) and all(near) else ("positions",)


def one_switch(number: int, seed: int, other: bool = False) -> Result:
    """Draw a switch, a person and a bench, and learn; `other`: a person of another kind (other_people.py)."""
    chance = random.Random(f"switches:{seed}:{number}")
    drawn = draw(chance)
    bench, of = chance.getrandbits(40), OtherPerson if other else Person
    try:
        table = learnt(drawn.specimen, bench, drawn.habits, drawn.bare, drawn.expected, of=of)
    except Live:
        return Result(drawn, None, () if drawn.truth.live else ("refused",))
    design, off = dict(drawn.specimen.positions), one_off(drawn.specimen.positions, chance)
    if drawn.truth.ladder_ohm or drawn.truth.live or off is None:
        return Result(drawn, table, ("live",) if drawn.truth.live else faults_of(drawn.truth, table))
    judged = (outcome(table, one, drawn.specimen.springs) for one in (design, off))
    return Result(drawn, table, faults_of(drawn.truth, table), *judged)


Positions = Mapping[str, tuple[Pair, ...]]


def outcome(table: SwitchTable, positions: Positions, springs: Mapping[str, str]) -> Outcome:
    """Of a table that was learnt, by the one that it should be."""
    rating = SwitchRating(
        rating="drawn", title="drawn", source=Source(text="drawn", known="assumed"), kind="switch",
        positions=dict(positions), springs=dict(springs),
    )  # fmt: skip
    return judge_finding(plan("switch-table", rating), Reading(id="switch_table", unit="", state=table)).outcome


def one_off(positions: Positions, chance: random.Random) -> dict[str, tuple[Pair, ...]] | None:
    """The same table but for one joint more or less in one position; None where no table would be left."""
    names = sorted({name for pairs in positions.values() for one in pairs for name in (one.a, one.b)})
    for _ in range(50):
        at = chance.choice(list(positions))
        own = list(positions[at])
        if own and chance.random() < 0.5:
            own.remove(chance.choice(own))
        else:
            own.append(Pair(*chance.sample(names, 2)))
        changed = dict(positions) | {at: tuple(own)}
        rows = {name: joined([str(one) for one in pairs], ()) for name, pairs in changed.items()}
        was = joined([str(one) for one in positions[at]], ())
        if rows[at] != was and len(set(rows.values())) > 1 and any(changed.values()):
            return changed
    return None


def campaign(seed: int, parts: int, workers: int = 1, other: bool = False) -> list[Result]:
    """All results, in the order of their numbers."""
    work = partial(one_switch, seed=seed, other=other)
    if workers == 1:
        return [work(number) for number in range(parts)]
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(work, range(parts), chunksize=8))


def goals(results: Sequence[Result]) -> list[AnyGoal]:
    """The campaign's figures beside what is asked of them.

    Right is asked of switches without a fault whose person listens and stays; nothing unmarked may be wrong of any.
    """
    sound = [one for one in results if plain(one)]
    loose = [one for one in results if _rocked_open(one)]
    judged = [one for one in sound if one.as_designed is not None]
    filmed = [one for one in results if one.as_designed is not None and one.drawn.truth.film]
    off = [one.one_joint_off for one in results if one.one_joint_off is not None]
    return [
        share("tables right, of sound switches and people who listen", (not one.wrong for one in sound), low=0.995),
        share("of these marked", (one.marked for one in sound), high=0.05),
        share("wrong without a doubt, of all", (bool(one.wrong) and not one.marked for one in results), high=0),
        share("loose contacts that were rocked and named", (_loose_named(one) for one in loose)),
        share("sound ones failed by their design", (one.as_designed is Outcome.FAIL for one in judged), high=0.01),
        share("passed by it", (one.as_designed is Outcome.PASS for one in judged)),
        share("passed, of one joint off", (one is Outcome.PASS for one in off), high=0.01),
        share("failed, of one joint off", (one is Outcome.FAIL for one in off)),
        share("passed, of filmed ones", (one.as_designed is Outcome.PASS for one in filmed), high=0.01),
    ]


def plain(one: Result) -> bool:
    """A sound switch, and a person who listens and stays."""
    truth, habits = one.drawn.truth, one.drawn.habits
    return not (truth.loose or truth.film or truth.live or truth.lacks or habits.deaf)


def _rocked_open(one: Result) -> bool:
    """A loose contact, and a person who rocks in more than half of the rests, and far enough to open it."""
    habits, spots = one.drawn.habits, one.drawn.specimen.faults.dead
    reached = any(habits.wiggle_steps > spot.low - round(spot.low) for spot in spots)
    return one.drawn.truth.loose and habits.wiggles > 0.5 and reached and not habits.deaf


def _loose_named(one: Result) -> bool:
    return one.table is not None and any(row.unsteady for row in one.table.positions)


def print_table(results: Sequence[Result]) -> None:
    """By kind: how many, right, marked, and what was wrong."""
    print(f"{'kind':12} parts  right  marked  wrong")
    for kind in KINDS:
        own = [one for one in results if one.drawn.truth.kind == kind]
        wrong = Counter(what for one in own for what in dict.fromkeys(one.wrong))
        right, marked = sum(not one.wrong for one in own), sum(one.marked for one in own)
        print(f"{kind:12} {len(own):5} {right:6} {marked:7}  {dict(wrong) or ''}")


def main() -> int:
    options = parser(__doc__ or "", 1000)
    options.add_argument("--workers", type=int, default=1, help="processes; default 1")
    options.add_argument("--other", action="store_true", help="people who overshoot, hesitate, go back and forth")
    options.add_argument("--wrong", action="store_true", help="also print what was wrong without a doubt, or unsound")
    given: argparse.Namespace = options.parse_args()
    results = campaign(given.seed, given.parts, given.workers, given.other)
    print(f"Switches: {len(results)} invented switches, each on a virtual bench of its own, seed {given.seed}.")
    print_table(results)
    for number, one in enumerate(results):
        if given.wrong and one.wrong and (plain(one) or not one.marked):
            print(number, one.wrong, "bare" if one.drawn.bare else "full", one.drawn.habits, one.drawn.truth)
            print("   ", one.drawn.specimen.model_dump_json(exclude_defaults=True))
            print("   ", one.table and [str(row) for row in one.table.positions], one.table and one.table.doubts)
    return close("switches", given, goals(results))


if __name__ == "__main__":
    sys.exit(main())
