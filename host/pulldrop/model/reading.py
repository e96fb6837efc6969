"""A measured value: number, unit, uncertainty budget, conditions; knows nothing of limits."""

import math
from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import Literal

from pydantic import Field

from pulldrop.model.coverage import Shape, Spread, spread
from pulldrop.model.measurement import Clamped
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.model.raw import Capture, CoilCounts, Followed, Frozen, Landing, OneLine, PulseCounts, ScanCounts

Raw = Capture | Landing | CoilCounts | PulseCounts | ScanCounts | Followed
State = ContactState | Clamped | SwitchTable
"""What a reading without a number found: which pairs were closed, what clamped the coil, or a switch's table."""


def state_code(state: State) -> str:
    """For machines: `30-87=0 30-87a=1`, the id of what clamped the coil, or a table as JSON."""
    if isinstance(state, SwitchTable):
        return state.model_dump_json()
    return state.code if isinstance(state, ContactState) else state.value


def state_of(code: str) -> State:
    """The state of a `state_code`. Raises ValueError."""
    if code.startswith("{"):
        return SwitchTable.model_validate_json(code)
    return ContactState.parse(code) if "=" in code or not code else Clamped(code)


def state_words(state: State | None) -> str:
    """For people: `30-87 open, 30-87a closed`; empty for None."""
    return "" if state is None else state.words if isinstance(state, Clamped) else str(state)


Mend = Literal["makes", "warmth", "steps", "calibration", "nothing"]
"""What makes a cause of uncertainty smaller: more makes, as the part itself differs; equal warmth of part and bench;
finer steps; a calibration; or nothing on this bench."""


class Term(Frozen):
    """One line of an uncertainty budget; `u` is a standard uncertainty in the reading's own unit.

    `freedom` is the number of degrees of freedom of a type A term, None for type B. `why` names the source.
    `shape` is how the effect is distributed; `mend` what would make it smaller.
    """

    name: OneLine
    u: float = Field(ge=0, allow_inf_nan=False)
    why: OneLine
    freedom: float | None = None
    shape: Shape = "normal"
    mend: Mend = "nothing"


def effective_freedom(budget: Sequence[Term]) -> float:
    """Degrees of freedom of the combined uncertainty (Welch and Satterthwaite, JCGM 100:2008, G.2b); may be inf."""
    counted = [t for t in budget if t.freedom]
    if not counted:
        return math.inf
    whole = math.hypot(*(t.u for t in budget))
    few = sum((t.u / whole) ** 4 / t.freedom for t in counted if t.freedom and whole)
    return 1 / few if few > 0 else math.inf


class ConditionName(StrEnum):
    """Names of the conditions that code reads, as stores keep them; a step may give others, for people alone.

    OWN_DIODE: a diode in the part takes the coil's energy, which makes its release slower. ARMATURE: whether it moved,
    by the coil current, where the contacts did not follow; its code is one of MOVED, RESTED. HELD: volts across a coil
    that got a few mA and no more. DRY: seconds to open after makes without load.
    """

    COIL_VOLTAGE = "coil voltage"
    BENCH_TEMPERATURE = "bench temperature"
    LOAD = "load"
    CLAMP = "clamp"
    ENDS_AT = "ends at"
    LET_GO_AT = "let go at"
    OWN_DIODE = "diode"
    ARMATURE = "armature"
    HELD = "held"
    DRY = "after dry makes"


MOVED, RESTED = "moved", "rested"


class Condition(Frozen):
    """One condition under which a value holds, such as coil voltage 13.5 V or clamp TVS 68 V.

    `code`: the text for machines, where runs are compared by it.
    """

    name: OneLine
    text: OneLine
    value: float | None = None
    unit: OneLine = ""
    code: OneLine = ""


def condition(name: ConditionName, among: Iterable[Condition]) -> Condition | None:
    """The one of this name, if there is one."""
    return next((one for one in among if one.name == name), None)


def amount(value: float, unit: str, places: str = "g") -> Condition:
    """A condition that is one number, shown with `places`; whoever lists it gives it its name."""
    return Condition(name="", text=f"{value:{places}} {unit}", value=value, unit=unit)


def coded(code: str, text: str) -> Condition:
    """A condition in words that runs are compared by; whoever lists it gives it its name."""
    return Condition(name="", text=text, code=code)


class Reading(Frozen):
    """A number with its uncertainty, or a state.

    `bound`: "=" for a value; ">" or "<" when only a bound is known ("more than 10 kohm").
    `state`: of the contacts, what clamped the coil, or a switch's table; then `value` is None.
    `makes`: the single values behind a median, in order.
    """

    id: OneLine
    unit: OneLine
    value: float | None = Field(default=None, allow_inf_nan=False)
    state: State | None = None
    bound: Literal["=", ">", "<"] = "="
    budget: tuple[Term, ...] = ()
    conditions: tuple[Condition, ...] = ()
    makes: tuple[float, ...] = ()
    raw: tuple[Raw, ...] = ()

    @property
    def number(self) -> float:
        """The value of a reading that is no state."""
        assert self.value is not None
        return self.value

    @property
    def standard_uncertainty(self) -> float:
        """Root of the sum of squares of the budget, in the reading's unit."""
        return math.sqrt(sum(t.u**2 for t in self.budget))

    @property
    def spread(self) -> Spread:
        """What the value may be off by, as a distribution."""
        return spread(((t.u, t.shape) for t in self.budget), effective_freedom(self.budget))

    @property
    def coverage_factor(self) -> float:
        """Standard uncertainties that hold 95 %: 1.96 of a normal quantity, 1.65 when one maker's limit outweighs all
        else, more when few makes speak for the scatter."""
        return self.spread.factor

    @property
    def expanded_uncertainty(self) -> float:
        """Half-width of the interval that holds the true value with 95 %."""
        return self.coverage_factor * self.standard_uncertainty


Because = Literal[
    "part", "no load supply", "beyond bench", "other part", "other form", "this form", "bare board", "left out",
    "not needed", "not shown",
]  # fmt: skip
"""Why a measurement was not made: the part did not allow it; the bench lacks its load supply, or cannot give what the
part would take; another part was put in meanwhile; it is of another form than the
rating; the bench cannot with a part of this form; the board is a bare one; nobody did what was asked for; the
verdict was certain without it; or sound parts of some designs do not show it."""


class NotTested(Frozen):
    """A measurement that was asked for and could not be made, and why; never silent."""

    id: OneLine
    reason: OneLine
    because: Because = "part"


Finding = Reading | NotTested


def of_another_form(finding: Finding | None) -> bool:
    """Whether a step ended because the part is of another contact form than the rating."""
    return isinstance(finding, NotTested) and finding.because == "other form"


def by_the_part(finding: Finding) -> bool:
    """Whether it says something of the part: it was read, or the part did not allow it."""
    return isinstance(finding, Reading) or finding.because == "part"


def needless(finding: Finding | None) -> bool:
    """Whether it was left out because the verdict was certain without it."""
    return isinstance(finding, NotTested) and finding.because == "not needed"


def no_news(finding: Finding | None) -> bool:
    """Whether it was left out as needless, or this bench cannot measure it of any part of this form."""
    return isinstance(finding, NotTested) and finding.because in ("not needed", "this form")


def not_shown(finding: Finding | None) -> bool:
    """Whether it was not made because this part does not show it, as sound parts of some designs do not."""
    return isinstance(finding, NotTested) and finding.because == "not shown"
