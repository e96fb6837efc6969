"""What most clues are: one reading, divided by its scale, or one state.

Rule: a reading that the bench failed to give says nothing; one that the part did not allow is `missing`.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace

from pulldrop.judge.diagnosis.evidence.clue import Clue
from pulldrop.model.quantity import show
from pulldrop.model.reading import Finding, NotTested, Reading, state_words
from pulldrop.model.run.plan import Plan

Maker = Callable[[Plan, Mapping[str, Finding]], Clue | None]


def number(
    key: str, id: str, scale: Callable[[Plan, Mapping[str, Finding]], float | None], least: float = 1e-9
) -> Maker:
    """A clue from one reading, divided by `scale`; none when the scale is not known."""

    def make(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
        one = by_id.get(id)
        by = scale(plan, by_id)
        if one is None or by is None:
            return None
        if isinstance(one, NotTested):
            return Clue(key, id, "not possible", missing=True)
        assert one.value is not None
        u = one.expanded_uncertainty / 2  # as wide as few makes make it
        return Clue(key, id, shown_as(one), one.value / by, u / by, one.bound, least=least)

    return make


def shown_as(one: Reading) -> str:
    if one.value is None:
        return state_words(one.state)
    if one.bound == "=":
        return show(one.value, one.unit, one.expanded_uncertainty)
    return f"{'more' if one.bound == '>' else 'less'} than {show(one.value, one.unit)}"


def state(key: str, id: str) -> Maker:
    def make(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
        one = by_id.get(id)
        if one is None:
            return None
        if isinstance(one, NotTested):
            return Clue(key, id, "not possible", missing=True)
        return Clue(key, id, state_words(one.state), state=one.state)

    return make


def later_value(by_id: Mapping[str, Finding], id: str) -> float | None:
    """A reading of later makes; None where they did not allow it."""
    one = by_id.get(id)
    return one.value or None if isinstance(one, Reading) and one.bound == "=" else None


def over_later(key: str, id: str, later: float, plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    clue = number(key, id, lambda _plan, _by_id: later)(plan, by_id)
    return clue and replace(clue, shown=clue.shown + (f", {clue.value:.3g} times later ones" if clue.value else ""))
