"""A gauge study: how much of what is seen the bench makes itself, from parts measured again and again.

Two-way analysis of variance with interaction after the AIAG manual (Measurement Systems Analysis, 4th edition,
chapter III-B); plain arithmetic, because the tables are small and balanced. An interaction that is smaller than the
repeatability (F < 1) is pooled with it; so no table of F is needed.
"""

import math
from collections.abc import Sequence
from statistics import fmean

from pulldrop.model.raw import Frozen

Table = Sequence[Sequence[Sequence[float]]]
"""values[part][operator][run]; the same number of operators and runs everywhere."""

NDC_FACTOR = 1.41
GOOD_PERCENT, USABLE_PERCENT, LEAST_NDC = 10.0, 30.0, 5
"""Common practice of the trade (AIAG): %GRR below 10 good, below 30 usable; at least five categories."""
K1 = {2: 4.56, 3: 3.05}
K2 = {2: 3.65, 3: 2.70}
K3 = {2: 3.65, 3: 2.70, 4: 2.30, 5: 2.08, 6: 1.93, 7: 1.82, 8: 1.74, 9: 1.67, 10: 1.62}
"""5.15 / d2* by runs, operators, parts: the constants of the paper form for average and range (AIAG, before 2002)."""


class Components(Frozen):
    """Standard deviations in the reading's unit, each times the same `multiple`.

    ev: repeatability of the bench; av: what operators (and their interaction with parts) add; grr: both; pv: parts.
    """

    parts: int
    operators: int
    runs: int
    ev: float
    av: float
    pv: float
    multiple: float = 1.0

    @property
    def grr(self) -> float:
        """All that the measuring adds."""
        return math.hypot(self.ev, self.av)

    @property
    def total(self) -> float:
        """All that is seen."""
        return math.hypot(self.grr, self.pv)

    @property
    def percent_grr(self) -> float:
        """The measuring's part of the total, by standard deviations: the figure of the trade."""
        return 100 * self.grr / self.total if self.total else 0.0

    @property
    def percent_of_variance(self) -> float:
        """The same by variances, which add up to 100 %."""
        return self.percent_grr**2 / 100

    @property
    def categories(self) -> int | None:
        """How many groups of parts the bench can tell apart (ndc); None when it adds nothing that is seen."""
        return int(NDC_FACTOR * self.pv / self.grr) if self.grr else None


class TooSmall(ValueError):
    """The table cannot be analysed; the message says what is missing."""


def analyse(values: Table) -> Components:
    """Components of variance by ANOVA. At least two parts and two runs; one operator is enough."""
    parts, operators, runs = _shape(values)
    grand = fmean(x for part in values for cell in part for x in cell)
    of_part = [fmean(x for cell in part for x in cell) for part in values]
    of_operator = [fmean(x for part in values for x in part[o]) for o in range(operators)]
    cells = [[fmean(cell) for cell in part] for part in values]
    within = sum((x - cells[p][o]) ** 2 for p, part in enumerate(values) for o, cell in enumerate(part) for x in cell)
    ss_part = operators * runs * sum((m - grand) ** 2 for m in of_part)
    ss_operator = parts * runs * sum((m - grand) ** 2 for m in of_operator)
    ss_cells = runs * sum((m - grand) ** 2 for part in cells for m in part)
    between = max(ss_cells - ss_part - ss_operator, 0.0)
    error, crossed = _pooled(within, parts * operators * (runs - 1), between, (parts - 1) * (operators - 1))
    ms_part = ss_part / (parts - 1)
    ms_operator = ss_operator / (operators - 1) if operators > 1 else crossed
    interaction = (crossed - error) / runs
    by_operator = max((ms_operator - crossed) / (parts * runs), 0.0)
    by_part = max((ms_part - crossed) / (operators * runs), 0.0)
    return Components(
        parts=parts,
        operators=operators,
        runs=runs,
        ev=math.sqrt(error),
        av=math.sqrt(by_operator + interaction),
        pv=math.sqrt(by_part),
    )


def _pooled(within: float, free_within: int, between: float, free_between: int) -> tuple[float, float]:
    """Mean squares of repeatability and interaction; one and the same where the interaction shows nothing."""
    error = within / free_within
    if free_between and between / free_between > error:
        return error, between / free_between
    error = (within + between) / (free_within + free_between)
    return error, error


def by_ranges(values: Table) -> Components | None:
    """The same by average and range, as on the paper form, times 5.15; None where the form has no constant."""
    parts, operators, runs = _shape(values)
    if runs not in K1 or operators not in K2 or parts not in K3:
        return None
    mean_range = fmean(max(cell) - min(cell) for part in values for cell in part)
    of_operator = [fmean(x for part in values for x in part[o]) for o in range(operators)]
    of_part = [fmean(x for cell in part for x in cell) for part in values]
    ev = mean_range * K1[runs]
    av = ((max(of_operator) - min(of_operator)) * K2[operators]) ** 2 - ev**2 / (parts * runs)
    pv = (max(of_part) - min(of_part)) * K3[parts]
    return Components(
        parts=parts, operators=operators, runs=runs, ev=ev, av=math.sqrt(max(av, 0.0)), pv=pv, multiple=5.15
    )


def in_words(found: Components) -> str:
    """What was found, for a person."""
    bench = found.percent_of_variance
    share = "less than 1 %" if bench < 1 else f"{bench:.0f} %"
    return f"The bench explains {share} of what you see; the rest is the parts: {meaning(found)}."


def meaning(found: Components) -> str:
    """What to make of it."""
    groups = found.categories
    if found.percent_grr < GOOD_PERCENT:
        return "good, differences between parts are real"
    if found.percent_grr < USABLE_PERCENT and (groups is None or groups >= LEAST_NDC):
        return "usable, small differences between parts may be the bench's"
    return "these parts are too alike for it, or it scatters too much: do not sort them by this reading"


def _shape(values: Table) -> tuple[int, int, int]:
    parts = len(values)
    operators = len(values[0]) if values else 0
    runs = len(values[0][0]) if operators else 0
    if parts < 2 or operators < 1 or runs < 2:
        raise TooSmall(f"{parts} parts with {runs} runs: at least two parts with two runs each are needed")
    if any(len(part) != operators or any(len(cell) != runs for cell in part) for part in values):
        raise TooSmall("every part needs the same number of operators and runs")
    return parts, operators, runs
