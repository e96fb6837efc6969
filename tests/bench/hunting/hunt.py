"""Hunts for the rule of a drawn circuit by a simulated person who slips, beside plain elimination of the same circuit.

Rule: a rule is right when it does the same as the circuit in a dense sample of what one person can set. A proved path
is false when the wire is dead with its conditions alone, or live with one of them broken. Worlds: that of the trial
which set the goals; a fuller one with trickles, low-side, low and pulsed wires; one with another prior than the
searcher's; one of three alternatives, outside of the language.
"""

import random
import statistics
import sys
import time
from collections.abc import Iterable
from dataclasses import dataclass
from typing import get_args

import numpy as np
from drawn import Circuit, Vehicle, World, draw_circuit
from numpy.typing import NDArray
from plain import Plain
from played import named
from report import AnyGoal, Goal, Share, close, parser, share
from someone import Someone

from pulldrop.hunt.leader import Leader, probes
from pulldrop.hunt.session import Hunt
from pulldrop.hunt.space import Settings, Space
from pulldrop.model.hunt.ask import AskReason, ReadBackStep, SetStep
from pulldrop.model.hunt.outcome import Grade

Flags = NDArray[np.bool_]
SIZES = (4, 8, 14)
CLAIMED = {4: 13, 8: 11, 14: 8}
RIGHT: dict[str, dict[int, float]] = {
    "trial": {4: 0.95, 8: 0.92, 14: 0.87},
    "fuller": {4: 0.92, 8: 0.88, 14: 0.82},
    "other": {4: 0.92, 8: 0.88, 14: 0.82},
}
EFFORT = {4: 0.80, 8: 0.65, 14: 0.50}
PLAN_S = 0.2
PLAY, PLAYED = "play", 0.90
PART_OF = {4: 1.0, 8: 0.6, 14: 0.3}
"""Circuits of a size beside `--parts`: large cabins take longer."""
FALSE_PATHS = 3 / 1500


@dataclass(frozen=True)
class Line:
    """One hunt. `right_from`: the step from which the leading rule stayed right; `left`: odds stated of a claim;
    `contradicted`: no rule of the language does what the circuit does where it was looked at."""

    seed: int
    grade: Grade
    right: bool
    right_from: int | None
    false_paths: int
    left: float
    contradicted: bool
    nothing: bool
    steps: int
    seconds: float
    slips: int
    plans: tuple[float, ...]
    impossible: int
    plain_right: bool
    plain_claims: bool
    plain_steps: int
    plain_seconds: float

    @property
    def claims(self) -> bool:
        return self.grade is Grade.PROVED


def hunt(seed: int, n: int, world: World, say: bool = False) -> Line:
    """One circuit, hunted and eliminated by two people who slip alike."""
    circuit = draw_circuit(seed, n, world)
    person = Someone(Vehicle(circuit, random.Random(f"v{seed}")), random.Random(f"p{seed}"))
    found = Hunt(circuit.controls, circuit.precautions, circuit.side, seed)
    sample = dense(circuit, found.space, seed)
    truth = np.array([circuit.closed(tuple(int(p) for p in one)) for one in sample])
    plans, impossible, right_from = list[float](), 0, None
    while True:
        began = time.process_time()
        ask = found.next_step()
        plans.append(time.process_time() - began)
        if ask is None:
            break
        right = same(circuit, found, found.leading, sample, truth)
        right_from = (right_from if right_from is not None else found.record.steps) if right else None
        if say:
            print("      ", described(found, found.leading), "RIGHT" if right else "")
        if isinstance(ask, ReadBackStep):
            positions = person.reads()
            if say:
                print(f"   {ask.reason.value}: {positions}")
            found.read_back(positions)
        else:
            assert isinstance(ask, SetStep)
            moves = found.space.numbered(ask.moves)
            impossible += not obeys(circuit, found, moves)
            looks = person.does(moves, ask.pace_s, ask.wait_s, ask.fall_s, ask.reason is AskReason.FALL)
            if say:
                shown = " ".join(f"{c}:{p}{look.level.value[:2]}" for (c, p), look in zip(moves, looks, strict=False))
                print(f"   {found.record.steps} {person.vehicle.now_s:.0f} s {ask.reason.value}: {shown}", person.slips)
            found.seen(looks)
    leading = found.leading
    if not same(circuit, found, leading, sample, truth):
        right_from = None
    outcome = found.result()
    grade = outcome.grade
    other = Someone(Vehicle(circuit, random.Random(f"v{seed}")), random.Random(f"q{seed}"))
    plain = Plain(found.space, other, circuit.side).run()
    return Line(
        seed=seed,
        grade=grade,
        right=same(circuit, found, leading, sample, truth),
        right_from=right_from,
        false_paths=false_paths(circuit, found, leading) if grade is Grade.PROVED else 0,
        left=outcome.left,
        contradicted=not fits_language(circuit, found),
        nothing=not truth.any(),
        steps=found.record.steps,
        seconds=person.vehicle.now_s,
        slips=person.slips,
        plans=tuple(plans),
        impossible=impossible,
        plain_right=plain_right(plain, circuit, sample, truth),
        plain_claims=plain.claims,
        plain_steps=plain.steps,
        plain_seconds=plain.person.vehicle.now_s,
    )


def dense(circuit: Circuit, space: Space, seed: int) -> Settings:
    """Settings that one person can set: at random, and around the circuit's own paths."""
    draw = random.Random(f"d{seed}")
    made = [*probes(space, seed + 77)]
    for path in circuit.paths:
        for _ in range(12):
            one = np.array(space.at_rest)
            for i in space.free:
                stays = [p for p in space.allowed[i] if not space.holds(i, p)]
                if draw.random() < 0.3:
                    one[i] = draw.choice(stays)
            for control, closed in path:
                one[control] = draw.choice(sorted(closed))
            made.append(one)
            for control, _ in path:
                for position in space.allowed[control]:
                    other = np.array(one)
                    other[control] = position
                    made.append(other)
    stacked = np.unique(np.array(made, np.int8), axis=0)
    return np.asarray(stacked[space.possible(stacked)])


def same(
    circuit: Circuit, found: Hunt, leading: Leader | None, sample: Settings, truth: Flags
) -> bool:  # fmt: skip
    """Whether the leading rule does what the circuit does."""
    if leading is None:
        return not truth.any() and found.odds.nothing > 0.5
    rule = leading.rule
    if circuit.button is None and rule.button >= 0:
        return False
    if circuit.button is not None and (rule.button, rule.position, rule.resets) != circuit.button:
        return False
    held = found.language.holds(np.array(rule.paths), sample).any(1)
    return bool((held == truth).all())


def fits_language(circuit: Circuit, found: Hunt) -> bool:
    """Whether one or two paths of the language do what the circuit does in every setting that was looked at."""
    settings = found.record.tried()
    truth = np.array([circuit.closed(tuple(int(p) for p in one)) for one in settings], bool)
    held = found.language.holds(slice(None), settings)
    sound = held[:, ~held[~truth].any(0)][truth]
    if not len(sound):
        return True
    missed = (~np.unique(sound, axis=1)).astype(np.float32)
    first = missed[:, missed[0] == 0]
    return bool(((first.T @ missed) == 0).any()) if first.size else False


def false_paths(circuit: Circuit, found: Hunt, leading: Leader | None) -> int:
    """Paths of a claim of which the circuit does otherwise than was claimed to be seen."""
    assert leading is not None
    wrong = 0
    rule = leading.rule
    if rule.button >= 0 and (circuit.button is None or (rule.button, rule.position, rule.resets) != circuit.button):
        return 1
    if rule.button < 0 and circuit.button is not None:
        return 1
    for path in rule.paths:
        wrong += not _path_holds(circuit, found, path, rule.paths)
    return wrong


def _path_holds(circuit: Circuit, found: Hunt, path: int, paths: tuple[int, ...]) -> bool:
    """Live at every position that a condition names, dead at every other, with all else at rest."""
    space, language = found.space, found.language
    conditions = language.conditions(path)
    base = np.array(space.at_rest)
    for one in conditions:
        if base[one.control] not in one.positions:
            base[one.control] = min(one.positions, key=lambda p, c=one.control: (space.holds(c, p), p))
    for one in conditions:
        for position in space.allowed[one.control]:
            setting = np.array(base)
            setting[one.control] = position
            if not space.possible(setting[None])[0]:
                continue
            held = language.holds(np.array(paths), setting[None])[0]
            if circuit.closed(tuple(int(p) for p in setting)) != bool(held.any()):
                return False
    return circuit.closed(tuple(int(p) for p in base))


def obeys(circuit: Circuit, found: Hunt, moves: Iterable[tuple[int, int]]) -> bool:
    """Whether two hands in one place can do these moves, and none is forbidden; worked out here once more."""
    now = [int(p) for p in found.record.state]
    for control, position in moves:
        one = circuit.controls[control]
        if position in one.cranks and not circuit.precautions.solenoid_off:
            return False
        held = {i for i, p in enumerate(now) if p in circuit.controls[i].springs}
        if now[control] in one.springs and position != one.springs[now[control]]:
            return False
        busy = held - {control}
        if len(busy) > 1 and control not in held:
            return False
        if busy and any(circuit.controls[i].reach is not one.reach for i in busy):
            return False
        now[control] = position
    return not any(p in circuit.controls[i].springs for i, p in enumerate(now))


def plain_right(plain: Plain, circuit: Circuit, sample: Settings, truth: Flags) -> bool:
    """Whether what plain elimination left does what the circuit does."""
    if plain.terms is None:
        return not truth.any()
    if circuit.button is not None:
        return False
    held = np.array([all(int(one[c]) in closed for c, closed in plain.terms.items()) for one in sample])
    return bool((held == truth).all())


def described(found: Hunt, leading: Leader | None) -> str:
    if leading is None:
        return f"nothing {found.odds.nothing:.3f}"
    paths = [" & ".join(f"{c.control}{c.positions}" for c in found.language.conditions(p)) for p in leading.rule.paths]
    return f"{' | '.join(paths)} button {leading.rule.button} {leading.rule.resets} {leading.mass:.3f}"


def goals_of(world: World, n: int, lines: list[Line]) -> list[AnyGoal]:
    """The goals of one cell."""
    name = f"{world} n={n}"
    claims = [one for one in lines if one.claims]
    wrong = sum(not one.right for one in claims)
    stated = sum(one.left for one in claims)
    right_from = [one.right_from if one.right_from is not None else 999 for one in lines]
    asked = [plan for one in lines for plan in one.plans]
    mine, theirs = _effort(lines)
    made: list[AnyGoal] = [
        Goal(f"{name}: impossible or forbidden steps", sum(one.impossible for one in lines), high=0),
        Goal(f"{name}: 99th percentile of planning, s", float(np.percentile(asked, 99)), high=PLAN_S),
        share(f"{name}: proved path false", [one.false_paths > 0 for one in claims], high=FALSE_PATHS),
    ]
    if world == "three":
        shown = [one.grade is Grade.OUTSIDE for one in lines if one.contradicted]
        made.append(share(f"{name}: called outside, of those whose looks contradict the language", shown, low=0.8))
    else:
        made += [
            share(f"{name}: leading rule right at the end", [one.right for one in lines], low=RIGHT[world][n]),
            Goal(f"{name}: right for good from step, median", statistics.median(right_from), high=n + 3),
            Goal(f"{name}: effort per right result, of plain's", mine / theirs, high=EFFORT[n]),
        ]
        if claims:
            steps = statistics.median(one.steps for one in claims)
            made.append(Goal(f"{name}: steps of claims, median", steps, high=2 * n + CLAIMED[n]))
    odds = _twice(stated, len(claims))
    made.append(Share(f"{name}: claims not complete (stated: {stated:.1f})", wrong, len(claims), high=odds))
    return made


def _twice(stated: float, n: int) -> float:
    """At most twice what was stated."""
    return min(1.0, 2 * stated / n) if n else 1.0


def _effort(lines: list[Line]) -> tuple[float, float]:
    """Seconds of person's time for each right result: the hunt's, plain elimination's."""
    mine = sum(one.seconds for one in lines) / max(1, sum(one.right for one in lines))
    theirs = sum(one.plain_seconds for one in lines) / max(1, sum(one.plain_right for one in lines))
    return mine, theirs


def shown(world: World, n: int, lines: list[Line]) -> str:
    claims = [one for one in lines if one.claims]
    plain_claims = [one for one in lines if one.plain_claims]
    grades = {grade.value: sum(one.grade is grade for one in lines) for grade in Grade}
    mine, theirs = _effort(lines)
    none_wrong = sum(one.grade is Grade.NOT_FOUND and not one.nothing for one in lines)
    likely = [one for one in lines if one.grade is Grade.LIKELY]
    return (
        f"{world} n={n}: {len(lines)} circuits; right {sum(one.right for one in lines)}; {grades};"
        f" claims not complete {sum(not one.right for one in claims)} (stated {sum(one.left for one in claims):.1f}),"
        f" path false {sum(one.false_paths > 0 for one in claims)}; likely right {sum(one.right for one in likely)} of"
        f" {len(likely)}; not found wrong {none_wrong};"
        f" right by slips {_by_slips(lines)};\n   steps median {statistics.median(one.steps for one in lines)}"
        f" p90 {np.percentile([one.steps for one in lines], 90):.0f}, of claims"
        f" {statistics.median([one.steps for one in claims] or [0])};"
        f" identified {statistics.median([x.right_from for x in lines if x.right_from is not None] or [0])};"
        f" seconds median {statistics.median(one.seconds for one in lines):.0f};"
        f" per right {mine:.0f}, plain {theirs:.0f};"
        f" plain right {sum(one.plain_right for one in lines)}, claims wrong"
        f" {sum(not one.plain_right for one in plain_claims)} of {len(plain_claims)}, steps"
        f" {statistics.median(one.plain_steps for one in lines)}; plan ms median"
        f" {1e3 * statistics.median(p for x in lines for p in x.plans):.0f}, p99"
        f" {1e3 * float(np.percentile([p for x in lines for p in x.plans], 99)):.0f}, worst"
        f" {1e3 * max(p for x in lines for p in x.plans):.0f}"
    )


def _by_slips(lines: list[Line]) -> str:
    groups = [[one.right for one in lines if min(one.slips, 2) == k] for k in range(3)]
    return " ".join(f"{k}{'+' if k == 2 else ''}: {sum(one)}/{len(one)}" for k, one in enumerate(groups))


def main() -> int:
    options = parser(__doc__, 40)
    options.add_argument("--world", choices=(*get_args(World), PLAY), help="one world alone, or free play alone")
    options.add_argument("--n", type=int, choices=SIZES, help="one size of cabin alone")
    options.add_argument("--say", type=int, help="every step of this one circuit")
    given = options.parse_args()
    goals: list[AnyGoal] = []
    for world in [given.world] if given.world else (*get_args(World), PLAY):
        for n in [given.n] if given.n else SIZES:
            seeds = range(given.seed * 10_000, given.seed * 10_000 + round(given.parts * PART_OF[n]))
            if world == PLAY:
                flags = [named(seed, n) for seed in seeds]
                goals.append(share(f"play n={n}: one control named within a minute", flags, low=PLAYED))
                print(goals[-1], flush=True)
            elif given.say is not None:
                print(hunt(given.say, n, world, say=True), draw_circuit(given.say, n, world).paths)
            else:
                lines = [hunt(seed, n, world) for seed in seeds]
                print(shown(world, n, lines), flush=True)
                bad = [x.seed for x in lines if x.false_paths or x.impossible]
                wrong = [x.seed for x in lines if not x.right]
                print(f"   false paths or impossible: {bad}; not right: {wrong}", flush=True)
                goals += goals_of(world, n, lines)
    return close("hunt", given, goals) if goals else 0


if __name__ == "__main__":
    sys.exit(main())
