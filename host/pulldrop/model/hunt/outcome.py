"""What came out of a hunt, in grades that are never mixed."""

from enum import StrEnum

from pulldrop.model.hunt.look import WireLevel
from pulldrop.model.hunt.rule import Condition, TriggerPath, TriggerRule
from pulldrop.model.raw import Frozen


class Grade(StrEnum):
    """PROVED: every path was seen live alone, and each part needed, off and on again, twice. LIKELY: the best rule, not
    proved. NOT_FOUND: it was never live. OUTSIDE: no rule of the language fits what was seen. STOPPED: the battery is
    low."""

    PROVED = "proved"
    LIKELY = "likely"
    NOT_FOUND = "not found"
    OUTSIDE = "outside"
    STOPPED = "stopped"


class Suspect(StrEnum):
    """What a hunt that found nothing cannot tell apart; the check of the socket and the wire must."""

    BROKEN_WIRE = "broken wire"
    NO_FEED = "no feed"
    MODULE = "module"
    UNTRIED = "untried"
    """A control that was not named or not asked for, or settings that one person cannot reach."""


class TableRow(Frozen):
    """One setting that was tried: the position of every control, how often each level was seen."""

    positions: tuple[int, ...]
    seen: dict[WireLevel, int]


class ExcludedOrder(Frozen):
    """Combinations of so many controls: how many there are, how many the looks rule out, the odds of those left."""

    order: int
    rules: int
    excluded: int
    left: float


class Branch(Frozen):
    """Switches in series, drawn from feed to load; an inhibiting one is drawn closed at rest."""

    switches: tuple[Condition, ...]


class SwitchDrawing(Frozen):
    """Branches in parallel; `button`: a memory relay in front of them."""

    branches: tuple[Branch, ...]
    button: str | None = None


class HuntOutcome(Frozen):
    """`left`: odds that the rule is not the whole truth (a second way, another edge). `twins`: rules that do the same
    in all that one person can set. `untestable`: conditions or pairs of held controls that one person cannot try;
    `untried`: controls that are never asked for and positions that were not allowed. `weak`: what lets a trickle
    through."""

    grade: Grade
    rule: TriggerRule | None
    left: float
    steps: int
    twins: tuple[TriggerRule, ...] = ()
    twins_not_listed: int = 0
    untestable: tuple[tuple[str, ...], ...] = ()
    untried: tuple[Condition, ...] = ()
    excluded: tuple[ExcludedOrder, ...] = ()
    suspects: tuple[Suspect, ...] = ()
    weak: TriggerPath | None = None
    contradicted: tuple[TableRow, ...] = ()
    table: tuple[TableRow, ...] = ()
    drawing: SwitchDrawing | None = None


class ChangeKind(StrEnum):
    """How a rule differs from that of the last time."""

    NO_LONGER_NEEDED = "no longer needed"
    NOW_NEEDED = "now needed"
    OTHER_POSITIONS = "other positions"
    PATH_GONE = "path gone"
    PATH_NEW = "path new"
    MEMORY = "memory"
    GRADE = "grade"


class RuleChange(Frozen):
    """One difference; the condition or the path that it is about, as it was and as it is."""

    kind: ChangeKind
    was: Condition | TriggerPath | Grade | None = None
    now: Condition | TriggerPath | Grade | None = None
