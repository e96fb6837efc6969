"""A hunt from the first look to its outcome: what is asked next, and what each answer changes.

Rule: `next_step` only reads. All that it rests on changes by entries of the diary, so that a stored hunt goes on where
it was. It asks for nothing that one person cannot do or that does harm, and says why a step comes again.
"""

from collections.abc import Iterable, Sequence

import numpy as np

from pulldrop.hunt.account import account
from pulldrop.hunt.chooser import Choice, Where, choose
from pulldrop.hunt.delays import LONGEST_S, Delays, TrustedLook
from pulldrop.hunt.doubts import RETESTS, contradicts, doubted, tries
from pulldrop.hunt.language import Language
from pulldrop.hunt.leader import Classes, Leader
from pulldrop.hunt.odds import Odds, Weigher
from pulldrop.hunt.play import settle
from pulldrop.hunt.proof import LeadingRule, Program, program
from pulldrop.hunt.record import Record
from pulldrop.hunt.space import Setting, Space
from pulldrop.model.hunt.ask import AnyAsk, AskReason, Move, PauseStep, ReadBackStep, SetStep
from pulldrop.model.hunt.control import CabinControl, Precautions
from pulldrop.model.hunt.diary import Diary, DiaryEntry, Paused, Played, PositionsRead, StepSeen, Touch, WireEdge
from pulldrop.model.hunt.look import ACTS, Side, WireLook
from pulldrop.model.hunt.outcome import Grade, HuntOutcome

SURPRISE = 0.08
"""A look with smaller odds has the positions read aloud."""
PROVE, COMPLETE = 0.90, 0.98
"""Odds of the leading rule from which its proof is begun, and claimed."""
NOTHING, LEAST_BITS = 0.97, 0.05
"""Odds of nothing from which a hunt is given up, once no step promises more bits."""
LOST, LOST_STEPS, READ_STEPS = 0.3, 3, 12
"""Odds of nothing, though the wire was live, from which the positions are read aloud once so many steps have passed
since the last time; and the steps after which they are in any case."""
POINTS_S, COIL_RESTS_S = 120.0, 120.0
"""Longest time with the key on and points, and the rest after it (a practitioner's limit)."""


class Hunt:
    """One hunt. `most_steps`: where it ends without a proof, by default as in the trial that set its goals."""

    def __init__(
        self,
        controls: Sequence[CabinControl],
        precautions: Precautions | None = None,
        side: Side = Side.HIGH,
        seed: int = 0,
        most_steps: int | None = None,
    ) -> None:
        """Raises ValueError for controls that cannot be told apart."""
        self.precautions = precautions or Precautions()
        self.side, self.seed = side, seed
        self.space = Space(controls, self.precautions)
        self.language = Language(self.space, self.precautions.added)
        self.record = Record(self.space)
        self.delays = Delays(ACTS[side])
        self.most_steps = most_steps if most_steps is not None else 38 + round(1.6 * self.space.n)
        self.entries: list[DiaryEntry] = []
        self._classes = Classes(self.language, seed)
        self._weigher = Weigher(self.language)
        self._programs: dict[LeadingRule, Program] = {}
        self._odds: Odds | None = None
        self._leader: tuple[Leader | None] | None = None
        self._asked: AnyAsk | None = None
        self._known = False
        self._surprised = self._played = False
        self._again: Setting | None = None
        self._undo: tuple[Move, ...] | None = None
        self._low = False
        self._key_on_s = 0.0
        self._outside = False

    # what is asked

    def next_step(self) -> AnyAsk | None:
        """The next step; None when the hunt is over and `result` says how."""
        if not self._known:
            self._asked, self._known = self._within_points(self._next()), True
        return self._asked

    def result(self) -> HuntOutcome:
        """What came out so far."""
        found = self.leading
        proving = self._program(found)
        grade = self._grade(found)
        return account(self.record, self.odds, found, grade, proving, self.side, self.delays, self.steps)

    @property
    def steps(self) -> int:
        """Steps that were asked and done."""
        return sum(not isinstance(entry, Played) for entry in self.entries)

    @property
    def odds(self) -> Odds:
        """Of every rule, now."""
        if self._odds is None:
            self._odds = self._weigher.weigh(self.record)
        return self._odds

    @property
    def leading(self) -> Leader | None:
        """The leading rule, now."""
        if self._leader is None:
            self._leader = (self._classes.leader(self.odds),)
        return self._leader[0]

    def _forget(self) -> None:
        """Drop what was worked out from the record."""
        self._odds = self._leader = self._asked = None
        self._known = False

    def _next(self) -> AnyAsk | None:
        record = self.record
        if self._low or self.steps >= self.most_steps:
            return None
        if not record.looks:
            return self._ask(self._to([self.space.at_rest]), AskReason.CLEAR)
        if self._surprised:
            return ReadBackStep(reason=AskReason.SURPRISED)
        if self._undo is not None:
            return self._ask(self._undo, AskReason.FALL)
        if self._again is not None:
            return self._ask(self._to(self._off_and_on(self._again)), AskReason.AGAIN)
        if self._overdue():
            return ReadBackStep(reason=AskReason.OVERDUE)
        found = self.leading
        if found is not None and (setting := doubted(self.language, record, found)) is not None:
            return self._ask(self._to(self._off_and_on(setting)), AskReason.RETEST)
        return self._prove_or_search(found)

    def _overdue(self) -> bool:
        """Whether the positions have to be read: after play, after long, or as nothing explains what was live."""
        since = self.record.steps - self.record.read_step
        lost = self.odds.nothing > LOST and since >= LOST_STEPS
        return self._played or (self.odds.live_seen and (lost or since >= READ_STEPS))

    def _prove_or_search(self, found: Leader | None) -> AnyAsk | None:
        record, proving = self.record, self._program(found)
        if found is not None and proving is not None and found.mass >= PROVE:
            item = proving.missing(record)
            if item is not None and tries(record, item) <= RETESTS:
                return self._ask(self._to(item.walk), AskReason.PROVE)
            if found.mass >= COMPLETE:
                return self._finish(proving)
        where = Where(record.state, self._outside, self.delays.pace_s)
        choice = choose(self.space, self.odds, where, self.seed + record.steps)
        if choice is not None and choice.bits >= LEAST_BITS:
            return self._try(choice)
        if self.odds.nothing >= NOTHING:
            return ReadBackStep(reason=AskReason.BEFORE_GIVING_UP) if record.read_step < record.steps else None
        if found is not None and proving is not None and found.mass >= 0.5 and proving.missing(record) is None:
            return self._finish(proving)
        return self._try(choice) if choice is not None else None

    def _try(self, choice: Choice) -> SetStep:
        """A step of the search; one that shows no new setting says that it is looked at again."""
        tried = {one.tobytes() for one in self.record.tried()}
        new = any(one.tobytes() not in tried for one in self.space.through(self.record.state, choice.moves))
        return self._ask(self.space.named(choice.moves), AskReason.SEARCH if new else AskReason.RETEST)

    def _finish(self, proving: Program) -> AnyAsk | None:
        """The second pass: positions read aloud, then every item again."""
        item = proving.missing_again(self.record)
        if item is None or tries(self.record, item) > 1 + RETESTS:
            return None
        if proving.unread(self.record):
            return ReadBackStep(reason=AskReason.BEFORE_PROOF)
        return self._ask(self._to(item.walk), AskReason.SECOND_PASS)

    def _program(self, found: Leader | None) -> Program | None:
        if found is None:
            return None
        if found.rule not in self._programs:
            self._programs[found.rule] = program(self.language, found.rule)
        return self._programs[found.rule]

    def _grade(self, found: Leader | None) -> Grade:
        if self._low:
            return Grade.STOPPED
        proving = self._program(found)
        if found is None or proving is None:
            return Grade.OUTSIDE if self.odds.live_seen else Grade.NOT_FOUND
        if len(found.rule.paths) > 2 or contradicts(self.language, self.record, found):
            return Grade.OUTSIDE
        shown = proving.missing(self.record) is None and proving.missing_again(self.record) is None
        calm = not self._surprised and self._again is None and found.mass >= 0.5
        return Grade.PROVED if shown and calm and not proving.untestable else Grade.LIKELY

    def _to(self, walk: Iterable[Setting]) -> tuple[Move, ...]:
        return self.space.named(self.space.route(self.record.state, walk))

    def _ask(self, moves: tuple[Move, ...], reason: AskReason) -> SetStep:
        delays = self.delays
        fall_s = LONGEST_S if reason is AskReason.FALL else delays.hold_s
        return SetStep(moves=moves, pace_s=delays.pace_s, wait_s=delays.wait_s, fall_s=fall_s, reason=reason)

    def _off_and_on(self, setting: Setting) -> list[Setting]:
        """A way to the setting that moves something where anything can be moved."""
        if (self.record.state != setting).any() or not self.space.free:
            return [setting]
        away = setting.copy()
        i = next((i for i in self.space.free if setting[i]), self.space.free[0])
        away[i] = 0 if setting[i] else self.space.allowed[i][1]
        return [away, setting]

    def _within_points(self, ask: AnyAsk | None) -> AnyAsk | None:
        """The same step, a pause before it, or its first moves alone: with points the key is never on for long."""
        if not self.precautions.points_ignition or not isinstance(ask, SetStep):
            return ask
        moves = self.space.numbered(ask.moves)
        if self._key_on_s + self._key_time(moves, ask) <= POINTS_S:
            return ask
        keys = [i for i, one in enumerate(self.space.controls) if self.record.state[i] in one.ignition]
        if self._key_on_s:
            return PauseStep(moves=self.space.named([(i, 0) for i in keys]), seconds=COIL_RESTS_S)
        while len(moves) > 1 and self._key_time(moves, ask) > POINTS_S:
            moves = moves[: len(moves) // 2]
            goal = self.space.through(self.record.state, moves)
            moves = self.space.route(self.record.state, goal)
        return ask.model_copy(update={"moves": self.space.named(moves)})

    # what is answered

    def seen(self, looks: Sequence[WireLook], at_s: float = 0.0) -> None:
        """The step that was asked was done; one look after each move, or one where it has none. Raises ValueError for
        another number of looks, or when no such step was asked."""
        asked = self.next_step()
        if not isinstance(asked, SetStep):
            raise ValueError("no moves were asked")
        self._take_step(asked, looks, False, at_s)

    def did_something_else(self, moves: Sequence[Move], looks: Sequence[WireLook], at_s: float = 0.0) -> None:
        """Other moves were done. Raises ValueError and KeyError as `seen`, or for controls that are not there."""
        self._take_step(self._ask(tuple(moves), AskReason.SEARCH), looks, True, at_s)

    def read_back(self, positions: Sequence[int], at_s: float = 0.0) -> None:
        """The person read every position aloud, in the order of the controls. Raises ValueError for other counts, and
        for positions that a control cannot stay in."""
        asked = self.next_step()
        reason = asked.reason if isinstance(asked, ReadBackStep) else AskReason.SURPRISED
        self._enter(PositionsRead(positions=tuple(positions), reason=reason, at_s=at_s))

    def play(self, touches: Sequence[Touch], edges: Sequence[WireEdge], before: WireLook, at_s: float = 0.0) -> None:
        """The person played: touches that were tapped, the wire before and its edges."""
        self._enter(Played(touches=tuple(touches), edges=tuple(edges), before=before, at_s=at_s))

    def paused(self, at_s: float = 0.0) -> None:
        """The pause that was asked is over. Raises ValueError where none was asked."""
        asked = self.next_step()
        if not isinstance(asked, PauseStep):
            raise ValueError("no pause was asked")
        self._enter(Paused(moves=asked.moves, at_s=at_s))

    def diary(self) -> Diary:
        """The whole hunt, to be stored."""
        return Diary(
            controls=self.space.controls,
            precautions=self.precautions,
            side=self.side,
            seed=self.seed,
            most_steps=self.most_steps,
            entries=tuple(self.entries),
        )

    @classmethod
    def replay(cls, diary: Diary) -> "Hunt":
        """A stored hunt, where it was."""
        made = cls(diary.controls, diary.precautions, diary.side, diary.seed, diary.most_steps)
        for entry in diary.entries:
            made._enter(entry)
        return made

    def _take_step(self, asked: SetStep, looks: Sequence[WireLook], own: bool, at_s: float) -> None:
        self._enter(
            StepSeen(
                moves=asked.moves,
                looks=tuple(looks),
                pace_s=asked.pace_s,
                wait_s=asked.wait_s,
                fall_s=asked.fall_s,
                reason=asked.reason,
                own=own,
                at_s=at_s,
            )
        )

    def _enter(self, entry: DiaryEntry) -> None:
        if isinstance(entry, StepSeen):
            self._enter_step(entry)
        elif isinstance(entry, PositionsRead):
            self._enter_positions(entry)
        elif isinstance(entry, Played):
            self._enter_play(entry)
        else:
            self._key_on_s = 0.0
            self.record.add(self.space.numbered(entry.moves), [None] * len(entry.moves))
            self.delays.leave(False)
        self.entries.append(entry)
        self._forget()

    def _enter_play(self, entry: Played) -> None:
        for move, level in list(settle(entry, self.space, ACTS[self.side])):
            self.record.add([move], [level], tapped=True)
        last = max(entry.edges, key=lambda edge: edge.at_s).look if entry.edges else entry.before
        self.delays.leave(last.level in ACTS[self.side])
        self._played = True

    def _enter_step(self, entry: StepSeen) -> None:
        if len(entry.looks) != max(1, len(entry.moves)):
            raise ValueError(f"expected {max(1, len(entry.moves))} looks, got {len(entry.looks)}")
        moves = self.space.numbered(entry.moves)
        self._low |= any(
            look.battery_v is not None and look.battery_v < self.precautions.stops_below_v for look in entry.looks
        )
        self._key_on_s += self._key_time(moves, entry)
        before, live_before = self.record.state.copy(), bool(self.record.looks) and self.delays.on
        strange = self._strange(moves, entry.looks) if moves and not entry.own else None
        levels = self.delays.take(entry)
        if moves:
            self.record.add(moves, levels, hasty=entry.pace_s < entry.wait_s)
            self._outside = bool(self.space.outside[moves[-1][0]])
        elif levels[0] is not None:
            self.record.first(*levels[0])
        self._undo = self._to_undo(moves, before, levels, entry, live_before)
        self._again = None
        if strange is not None and entry.reason is not AskReason.AGAIN:
            self._surprised = True
            self._again = self.space.through(before, moves)[strange]

    def _to_undo(
        self,
        moves: Sequence[tuple[int, int]],
        before: Setting,
        levels: Sequence[TrustedLook],
        entry: StepSeen,
        live_before: bool,
    ) -> tuple[Move, ...] | None:
        """What is taken back to time the fall of a wire that came on: the last move, then all; nothing to move where
        a hand let go. None where the fall is known, or the wire off or live all along."""
        if not self.delays.on or self.delays.fall_s is not None or not moves:
            return None
        if entry.reason is AskReason.FALL:
            return self._to([self.space.at_rest]) or None
        if levels[-1] is None:
            return ()
        walk = np.vstack([before[None], self.space.through(before, moves)])
        control = moves[-1][0]
        return () if live_before else self.space.named([(control, int(self.space.let_go(walk[-2])[control]))])

    def _enter_positions(self, entry: PositionsRead) -> None:
        if len(entry.positions) != self.space.n:
            raise ValueError(f"expected {self.space.n} positions, got {len(entry.positions)}")
        for i, position in enumerate(entry.positions):
            if position not in range(len(self.space.controls[i].positions)) or self.space.holds(i, position):
                raise ValueError(f"{self.space.controls[i].id} cannot stay in position {position}")
        if self.record.read(entry.positions):
            self._again = None
        self._surprised = self._played = False

    def _key_time(self, moves: Sequence[tuple[int, int]], step: SetStep | StepSeen) -> float:
        """Time of the step, s, if the key is on before it or in it; timing a fall takes longer."""
        on = any(self.record.state[i] in one.ignition for i, one in enumerate(self.space.controls))
        on |= any(position in self.space.controls[i].ignition for i, position in moves)
        longest = step.fall_s if step.reason is AskReason.FALL else 0.0
        return on * (self.space.seconds(moves, step.wait_s, self._outside) + longest)

    def _strange(self, moves: Sequence[tuple[int, int]], looks: Sequence[WireLook]) -> int | None:
        """The first look of the step that had small odds, given those before it."""
        walk = self.space.through(self.record.state, moves)
        acts = [look.level in ACTS[self.side] for look in looks]
        odds = self.odds.of_looks(walk, np.array(moves), acts)
        return next((i for i, one in enumerate(odds) if one < SURPRISE), None)
