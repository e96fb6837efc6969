"""How a hunt is said: what the person is asked, why, and what came out; the same words on every screen and paper.

Rule: it repeats what the hunt gives and claims nothing of its own.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from pulldrop.model.hunt.ask import AnyAsk, AskReason, Move, PauseStep, ReadBackStep
from pulldrop.model.hunt.control import CabinControl
from pulldrop.model.hunt.look import WireLevel
from pulldrop.model.hunt.outcome import ChangeKind, Grade, HuntOutcome, RuleChange, Suspect
from pulldrop.model.hunt.rule import Condition, TriggerPath, TriggerRule

REASONS: dict[AskReason, str] = {
    AskReason.CLEAR: "First everything at rest.",
    AskReason.SEARCH: "",
    AskReason.AGAIN: "Once more, now that the positions were read: the last look was a surprise.",
    AskReason.RETEST: "Once more: this look and the leading rule contradict each other.",
    AskReason.FALL: "Back again, to time how long the wire stays on; it may take half a minute.",
    AskReason.PROVE: "To show that each part is needed: off, and on again.",
    AskReason.SECOND_PASS: "The same once more, after the positions were read: only then it counts as proved.",
    AskReason.SURPRISED: "The wire did what no likely rule does.",
    AskReason.OVERDUE: "It is a while since the positions were read.",
    AskReason.BEFORE_PROOF: "Before the proof is believed.",
    AskReason.BEFORE_GIVING_UP: "Before it is given up.",
    AskReason.COIL_RESTS: "A points coil burns with the key on and the engine still.",
}
LEVELS: dict[WireLevel, str] = {
    WireLevel.OPEN: "off",
    WireLevel.WEAK: "WEAK: a trickle, no relay pulls on it",
    WireLevel.LOW: "LOW: below 80 % of the battery",
    WireLevel.ON: "ON",
    WireLevel.PULSED: "ON and off by itself",
    WireLevel.GROUND: "GROUNDED",
}
SUSPECTS: dict[Suspect, str] = {
    Suspect.BROKEN_WIRE: "the wire may be cut: follow it, or measure it end to end",
    Suspect.NO_FEED: "what feeds the switches may be dead: check their fuse with the circuit on",
    Suspect.MODULE: "a module may drive it, and wait for something that no control shows",
    Suspect.UNTRIED: "a control may be missing from the list, or may not be asked for",
}
HEADLINES: dict[Grade, str] = {
    Grade.PROVED: "PROVED",
    Grade.LIKELY: "LIKELY, NOT PROVED",
    Grade.NOT_FOUND: "NOT FOUND",
    Grade.OUTSIDE: "UNEXPLAINED",
    Grade.STOPPED: "STOPPED: BATTERY LOW",
}
TRACE = (
    "Ten minutes are over: it may be quicker to trace it. While the wire is on, pull one fuse after the other until it"
    " goes off, and put each back; the log keeps what was found here."
)
PAUSE = "Key off, and wait {seconds:.0f} s."
STAY = "leave everything as it is"
READ = "Read every position as it is, not as it should be."


class HuntWords:
    """Words for one cabin."""

    def __init__(self, controls: Iterable[CabinControl]) -> None:
        self._controls: Mapping[str, CabinControl] = {one.id: one for one in controls}

    def place(self, control: str, position: int) -> str:
        """The name of a position."""
        return self._controls[control].positions[position]

    def move(self, move: Move, held: bool) -> str:
        """What a hand does. `held`: the control is held just now, and is let go."""
        one = self._controls[move.control]
        name = self.place(move.control, move.position)
        if move.position in one.springs:
            return f"hold {move.control} at {name}"
        return f"let {move.control} go, to {name}" if held else f"{move.control} to {name}"

    def why(self, ask: AnyAsk) -> str:
        """Why a step is asked; empty in the plain course of the search."""
        return REASONS[ask.reason]

    def asked(self, ask: AnyAsk) -> str:
        """A whole step in one line, for a log."""
        if isinstance(ask, ReadBackStep):
            return READ
        return PAUSE.format(seconds=ask.seconds) if isinstance(ask, PauseStep) else self.moves(ask.moves)

    def moves(self, moves: Sequence[Move]) -> str:
        """Moves in one line."""
        told = map(self.move, moves, self.held(moves))
        return ", then ".join(told) or STAY

    def held(self, moves: Sequence[Move]) -> Iterator[bool]:
        """For each move whether it lets go what one before it holds."""
        held: set[str] = set()
        for one in moves:
            yield one.control in held
            springs = one.position in self._controls[one.control].springs
            held = held | {one.control} if springs else held - {one.control}

    def condition(self, one: Condition) -> str:
        """`key at ON or START`; an inhibitor by the positions that kill it: `saloon lamps not at full`."""
        if one.inhibits:
            others = (i for i in range(len(self._controls[one.control].positions)) if i not in one.positions)
            return f"{one.control} not at {self._or(one.control, others)}"
        return f"{one.control} at {self._or(one.control, one.positions)}"

    def path(self, path: TriggerPath) -> str:
        """All conditions of a path in one line."""
        return " and ".join(map(self.condition, path.conditions)) or "whatever the controls do"

    def rule(self, rule: TriggerRule) -> tuple[str, ...]:
        """The rule, a sentence for each way, and its delays."""
        told = []
        for number, path in enumerate(rule.paths):
            level = "" if path.level in (WireLevel.ON, WireLevel.GROUND) else f" ({LEVELS[path.level]})"
            told.append(f"{'Or live' if number else 'Live'} with {self.path(path)}{level}.")
        if rule.memory is not None:
            at = self.place(rule.memory.button, rule.memory.position)
            keeps = "forgets it once that is lost" if rule.memory.resets else "keeps it meanwhile"
            told.append(f"Each {rule.memory.button} at {at} turns it over while that holds, and it {keeps}.")
        if rule.on_s >= 0.5:
            told.append(f"It comes up to {rule.on_s:.1f} s late.")
        if rule.off_s >= 0.5:
            told.append(f"It stays on for up to {rule.off_s:.0f} s after it is lost.")
        return tuple(told)

    def outcome(self, found: HuntOutcome) -> tuple[str, ...]:
        """What came out, a sentence each, in the order in which a person needs them."""
        told = [*self._grade(found)]
        if found.rule is not None:
            told = [*self.rule(found.rule), *told]
        if found.twins:
            more = f", and {found.twins_not_listed} more" if found.twins_not_listed else ""
            told.append(f"Equivalent as far as one person can try: {'; '.join(map(self._short, found.twins))}{more}.")
        told += [f"Not testable by one person: {' with '.join(group)}." for group in found.untestable]
        if found.untried:
            told.append(f"Never asked for: {', '.join(self._untried(one) for one in found.untried)}.")
        if found.weak is not None:
            told.append(f"A trickle comes with {self.path(found.weak)}: another lamp's filament, or a module's look.")
        told += [f"Could be: {SUSPECTS[one]}." for one in found.suspects]
        told += [
            f"Rules of {one.order} at a time: {one.excluded} of {one.rules} are excluded." for one in found.excluded
        ]
        return tuple(told)

    def change(self, one: RuleChange) -> str:
        """A difference from the last time."""
        was, now = (self._thing(thing) for thing in (one.was, one.now))
        match one.kind:
            case ChangeKind.NO_LONGER_NEEDED:
                return f"No longer needed: {was}."
            case ChangeKind.NOW_NEEDED:
                return f"Needed now, and not the last time: {now}."
            case ChangeKind.OTHER_POSITIONS:
                return f"Was {was}, is {now}."
            case ChangeKind.PATH_GONE:
                return f"This way is gone: {was}."
            case ChangeKind.PATH_NEW:
                return f"This way is new: {now}."
            case ChangeKind.MEMORY:
                return "What turns it over by each press has changed."
            case ChangeKind.GRADE:
                return f"Was {was}, is {now}."

    def _grade(self, found: HuntOutcome) -> Iterator[str]:
        odds = one_in(found.left)
        match found.grade:
            case Grade.PROVED:
                yield "Each part was seen off and on again, twice: proved. Each is needed."
                yield f"No second way was found; {odds} is left that there is one."
            case Grade.LIKELY:
                yield f"It was not proved: {odds} is left that it is otherwise."
            case Grade.NOT_FOUND:
                yield f"It was never live in {len(found.table)} settings; {odds} is left that one of the rules does it."
            case Grade.OUTSIDE:
                yield "What was seen fits no rule of up to two ways with four conditions each."
            case Grade.STOPPED:
                yield "The battery has less than 11.8 V (of 12 V). Charge it, and go on with the same log."

    def _thing(self, thing: Condition | TriggerPath | Grade | None) -> str:
        if isinstance(thing, Condition):
            return self.condition(thing)
        if isinstance(thing, TriggerPath):
            return self.path(thing)
        return HEADLINES[thing] if thing is not None else ""

    def _short(self, rule: TriggerRule) -> str:
        return " or ".join(self.path(one) for one in rule.paths)

    def _untried(self, one: Condition) -> str:
        control = self._controls[one.control]
        if control.harm is not None:
            return f"{one.control} (it {control.harm})"
        return f"{one.control} at {self._or(one.control, one.positions)}"

    def _or(self, control: str, positions: Iterable[int]) -> str:
        return " or ".join(self.place(control, one) for one in positions)


def one_in(share: float) -> str:
    """Odds as a person reads them: `about 1 in 50`."""
    if share <= 1e-4:
        return "less than 1 in 10000"
    if share >= 0.5:
        return f"about {share * 10:.0f} in 10"
    count = 1 / share
    step = 1 if count < 20 else 10 if count < 200 else 100
    return f"about 1 in {round(count / step) * step:.0f}"
