"""A measured value: number, unit, uncertainty budget, conditions; knows nothing of limits."""

import math
from collections.abc import Sequence
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


def effective_freedom(budget: Sequence[Term]) -> float:
    """Degrees of freedom of the combined uncertainty (Welch and Satterthwaite, JCGM 100:2008, G.2b); may be inf."""
    whole = math.hypot(*(t.u for t in budget))
    few = sum((t.u / whole) ** 4 / t.freedom for t in budget if t.freedom and whole)
    return 1 / few if few > 0 else math.inf


def coverage_factor(freedom: float, z: float = 2.0) -> float:
    """Student's factor that covers, with `freedom` degrees of freedom, what `z` covers of a normal quantity.

    Expansion of Fisher and Cornish (Abramowitz and Stegun 26.7.5), within 1 % from 2 degrees on; below 2 it is that
    of 1 degree, taken from the exact law tan(pi p / 2) (JCGM 100:2008, table G.2: 13.97 for z = 2).
    """
    if freedom < 2:
        return math.tan(math.pi / 2 * math.erf(z / math.sqrt(2)))
    g1 = (z**3 + z) / 4
    g2 = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    g3 = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    g4 = (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92_160
    x = 1 / freedom
    return z + x * (g1 + x * (g2 + x * (g3 + x * g4)))


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
    def coverage_factor(self) -> float:
        """2 when everything is well known, more when few makes speak for the scatter: about 95 % either way."""
        return coverage_factor(effective_freedom(self.budget))

    @property
    def expanded_uncertainty(self) -> float:
        """Half-width of the interval that holds the true value with about 95 %."""
        return self.coverage_factor * self.standard_uncertainty


BEYOND_BENCH = "beyond this bench: "
"""A reason that begins so is about the bench, and says nothing of the part."""


class NotTested(Frozen):
    """A measurement that was asked for and could not be made, and why; never silent.

    `without_load`: the bench lacks its load supply, which says nothing about the part.
    """

    id: str
    reason: str
    without_load: bool = False


Finding = Reading | NotTested
