"""The outcome of a hunt from its record: the rule by names, what was tried, what is excluded, what could not be tried.

Rule: nothing is claimed here; the grade comes from the session, and every row is a look.
"""

from collections import Counter
from collections.abc import Sequence

import numpy as np

from pulldrop.hunt.delays import Delays
from pulldrop.hunt.language import Language
from pulldrop.hunt.leader import Classes, Leader
from pulldrop.hunt.odds import Odds, Weigher
from pulldrop.hunt.proof import LeadingRule, Program
from pulldrop.hunt.record import Record, Seen
from pulldrop.model.hunt.look import Side, WireLevel
from pulldrop.model.hunt.outcome import Branch, ExcludedOrder, Grade, HuntOutcome, Suspect, SwitchDrawing, TableRow
from pulldrop.model.hunt.rule import Condition, Memory, TriggerPath, TriggerRule

MOST_TWINS = 6
EXCLUDED = 0.02
"""A conjunction whose looks make it so much less likely than "never" counts as excluded."""
TRICKLE = 0.5
"""Odds from which what lets a trickle through is named."""


def account(
    record: Record,
    odds: Odds,
    found: Leader | None,
    grade: Grade,
    proving: Program | None,
    side: Side,
    delays: Delays,
    steps: int,
) -> HuntOutcome:
    """The outcome; `proving`: the proof that the rule would need."""
    named = Namer(record, odds.language, side, delays)
    gives = grade is not Grade.NOT_FOUND
    rule = named.rule(found.rule) if found is not None and gives else None
    twins = [named.rule(one) for one in found.twins] if found is not None and rule is not None else []
    return HuntOutcome(
        grade=grade,
        rule=rule,
        left=_left(odds, found, grade),
        steps=steps,
        twins=tuple(twins[:MOST_TWINS]),
        twins_not_listed=max(0, len(twins) - MOST_TWINS),
        untestable=_untestable(odds.language, proving),
        untried=_untried(odds.language),
        excluded=excluded(odds.language, odds, record) if rule is None else (),
        suspects=tuple(Suspect) if grade is Grade.NOT_FOUND else (),
        weak=trickle(record, odds.language, side) if record.looks else None,
        contradicted=named.contradicted(found) if grade is Grade.OUTSIDE else (),
        table=table(record),
        drawing=drawing(rule) if rule is not None else None,
    )


class Namer:
    """Gives rules the names of their controls, and the levels and delays that were seen."""

    def __init__(self, record: Record, language: Language, side: Side, delays: Delays) -> None:
        self.record, self.language, self.side, self.delays = record, language, side, delays

    def rule(self, rule: LeadingRule) -> TriggerRule:
        space = self.language.space
        memory = None
        if rule.button >= 0:
            memory = Memory(button=space.controls[rule.button].id, position=rule.position, resets=rule.resets)
        paths = tuple(self._path(path, rule) for path in rule.paths)
        return TriggerRule(
            paths=paths,
            memory=memory,
            side=self.side,
            on_s=round(self.delays.rise_s or 0.0, 2),
            off_s=round(self.delays.fall_s or 0.0, 2),
        )

    def contradicted(self, found: Leader | None) -> tuple[TableRow, ...]:
        """Settled settings that the leading rule does not explain."""
        settled = [one for one in self.record.tallies() if one.settled is not None]
        if found is None or not settled:
            return ()
        held = self.language.holds(np.array(found.rule.paths), np.array([one.setting for one in settled]))
        wrong = {
            one.setting.tobytes() for one, live in zip(settled, held, strict=True) if one.settled != bool(live.any())
        }
        return tuple(row for row in table(self.record) if np.array(row.positions, np.int8).tobytes() in wrong)

    def _path(self, path: int, rule: LeadingRule) -> TriggerPath:
        conditions = tuple(
            Condition(control=self.language.space.controls[one.control].id, positions=one.positions)
            for one in sorted(self.language.conditions(path), key=lambda one: (one.inhibits, one.control))
        )
        return TriggerPath(conditions=conditions, level=self._level(path, rule))

    def _level(self, path: int, rule: LeadingRule) -> WireLevel:
        """The level most often seen where this path alone held."""
        usual = WireLevel.GROUND if self.side is Side.LOW else WireLevel.ON
        looks = [one for one in self.record.looks if one.acts]
        if not looks:
            return usual
        held = self.language.holds(np.array(rule.paths), np.array([one.setting for one in looks]))
        alone = held[:, rule.paths.index(path)] & (held.sum(1) == 1)
        counts = Counter(one.level for one, counts in zip(looks, alone, strict=True) if counts)
        return counts.most_common(1)[0][0] if counts else usual


def table(record: Record) -> tuple[TableRow, ...]:
    """Every setting that was tried, in order."""
    return tuple(
        TableRow(positions=tuple(int(one) for one in np.frombuffer(setting, np.int8)), seen=dict(seen))
        for setting, seen in record.levels().items()
    )


def drawing(rule: TriggerRule) -> SwitchDrawing:
    """Switches in series within a path, paths in parallel."""
    branches = tuple(Branch(switches=path.conditions) for path in rule.paths)
    return SwitchDrawing(branches=branches, button=rule.memory.button if rule.memory else None)


def excluded(language: Language, odds: Odds, record: Record) -> tuple[ExcludedOrder, ...]:
    """Conjunctions by their number of conditions: how many there are, how many the looks rule out."""
    tallies = record.tallies()
    settings = np.array([one.setting for one in tallies], np.int8).reshape(-1, language.space.n)
    weights = np.array([one.weight for one in tallies])
    likely = weights @ language.holds(slice(None), settings) if len(tallies) else np.zeros(len(language.members))
    single = (odds.count == 1) & (odds.memory < 0)
    made = []
    for order in range(1, language.orders + 1):
        mine = (language.order == order) & np.isfinite(language.log_prior)
        left = odds.weight[single & (language.order[odds.paths[:, 0]] == order)].sum()
        ruled_out = int((mine & (likely < np.log(EXCLUDED))).sum())
        made.append(ExcludedOrder(order=order, rules=int(mine.sum()), excluded=ruled_out, left=float(left)))
    return tuple(made)


def trickle(record: Record, language: Language, side: Side) -> TriggerPath | None:
    """What most probably lets WEAK through; None where it was never seen, or no one path explains it."""
    if not any(one.level is WireLevel.WEAK for one in record.looks):
        return None
    weak = Record(record.space)
    weak.looks = [
        Seen(one.setting, -1, -1, one.step, one.level, one.level is WireLevel.WEAK, one.doubt, one.tapped)
        for one in record.looks
        if not one.acts
    ]
    found = Classes(language, 0).leader(Weigher(language).weigh(weak))
    if found is None or found.mass < TRICKLE or len(found.rule.paths) != 1 or found.rule.button >= 0:
        return None
    named = Namer(weak, language, side, Delays(())).rule(found.rule)
    return TriggerPath(conditions=named.paths[0].conditions, level=WireLevel.WEAK)


def _left(odds: Odds, found: Leader | None, grade: Grade) -> float:
    """Odds that it is otherwise than the outcome says."""
    if grade is Grade.NOT_FOUND:
        return 1 - odds.nothing
    return 1.0 if found is None or grade is Grade.OUTSIDE else max(0.0, 1 - found.mass)


def _untestable(language: Language, proving: Program | None) -> tuple[tuple[str, ...], ...]:
    controls = language.space.controls
    groups: list[Sequence[int]] = [*(proving.untestable if proving is not None else ()), *language.space.beyond_hands()]
    return tuple(tuple(controls[i].id for i in group) for group in groups)


def _untried(language: Language) -> tuple[Condition, ...]:
    """Controls that are never asked for, and positions that were not allowed."""
    space = language.space
    made = []
    for one, allowed in zip(space.controls, space.allowed, strict=True):
        left = tuple(position for position in range(len(one.positions)) if position not in allowed)
        if left:
            made.append(Condition(control=one.id, positions=left))
    return tuple(made)
