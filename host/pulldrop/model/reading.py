"""A measured value: number, unit, uncertainty budget, conditions; knows nothing of limits."""

import math
from typing import Literal

from pydantic import Field

from pulldrop.model.raw import Capture, CoilCounts, Frozen, Landing, PulseCounts, ScanCounts

Raw = Capture | Landing | CoilCounts | PulseCounts | ScanCounts


class Term(Frozen):
    """One line of an uncertainty budget; `u` is a standard uncertainty in the reading's own unit.

    `freedom` is the number of degrees of freedom of a type A term, None for type B. `why` names the source.
    """

    name: str
    u: float = Field(ge=0, allow_inf_nan=False)
    why: str
    freedom: float | None = None


class Condition(Frozen):
    """One condition under which a value holds, such as coil voltage 13.5 V or clamp TVS 68 V."""

    name: str
    text: str
    value: float | None = None
    unit: str = ""


class Reading(Frozen):
    """A number with its uncertainty, or the state of the contacts.

    `bound`: "=" for a value; ">" or "<" when only a bound is known ("more than 10 kohm").
    `state`: for contact states only, e.g. "NO open, NC closed"; then `value` is None.
    `makes`: the single values behind a median, in order.
    """

    id: str
    unit: str
    value: float | None = Field(default=None, allow_inf_nan=False)
    state: str | None = None
    bound: Literal["=", ">", "<"] = "="
    budget: tuple[Term, ...] = ()
    conditions: tuple[Condition, ...] = ()
    makes: tuple[float, ...] = ()
    raw: tuple[Raw, ...] = ()

    @property
    def standard_uncertainty(self) -> float:
        """Root of the sum of squares of the budget, in the reading's unit."""
        return math.sqrt(sum(t.u**2 for t in self.budget))

    @property
    def expanded_uncertainty(self) -> float:
        """Coverage factor k = 2, about 95 %."""
        return 2.0 * self.standard_uncertainty


class NotTested(Frozen):
    """A measurement that was asked for and could not be made, and why; never silent.

    `without_load`: the bench lacks its load supply, which says nothing about the part.
    """

    id: str
    reason: str
    without_load: bool = False


Finding = Reading | NotTested
