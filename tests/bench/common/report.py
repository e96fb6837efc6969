"""How a campaign states its goals and its result: text for a person, one JSON object as the last line, an exit code.

Rule: a share is held to its goal by how many parts it rests on. It is missed only when the exact 95 % interval of its
k of n leaves the goal out; a goal that no outcome of n parts could show fails no campaign. A goal of none or all is
absolute.
"""

import argparse
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from shares import can_be_shown, interval

State = Literal["met", "open", "cannot be shown", "missed"]
"""open: outside of the goal, but the interval does not leave the goal out."""


@dataclass(frozen=True)
class Goal:
    """One figure beside its goal; `low` and `high` as far as the goal sets them."""

    name: str
    value: float
    low: float | None = None
    high: float | None = None

    @property
    def state(self) -> State:
        return "met" if within(self.value, self) else "missed"

    @property
    def figures(self) -> dict[str, object]:
        """For the JSON line."""
        return {"name": self.name, "value": self.value, "low": self.low, "high": self.high, "state": self.state}

    def __str__(self) -> str:
        return f"{self.name}: {self.value:.4g}, goal {span(self.low, self.high)}"


@dataclass(frozen=True)
class Share:
    """`k` of `n` beside the goal of their share; `low` and `high` as far as the goal sets them."""

    name: str
    k: int
    n: int
    low: float | None = None
    high: float | None = None

    @property
    def value(self) -> float:
        """0 of none."""
        return self.k / self.n if self.n else 0.0

    @property
    def interval(self) -> tuple[float, float]:
        """Exact, 95 %."""
        return interval(self.k, self.n)

    @property
    def state(self) -> State:
        within_goal = within(self.value, self)
        if self.n and (self.low == 1 or self.high == 0):
            return "met" if within_goal else "missed"
        least, most = self.interval
        if (self.low is not None and most < self.low) or (self.high is not None and least > self.high):
            return "missed"
        if not can_be_shown(self.n, self.low, self.high):
            return "cannot be shown"
        return "met" if within_goal else "open"

    @property
    def figures(self) -> dict[str, object]:
        """For the JSON line."""
        own = {"k": self.k, "n": self.n, "interval": self.interval}
        return {"name": self.name, "value": self.value, **own, "low": self.low, "high": self.high, "state": self.state}

    def __str__(self) -> str:
        least, most = self.interval
        seen = f"{self.k} of {self.n} = {self.value:.4g} (95 %: {least:.4g} .. {most:.4g})"
        return f"{self.name}: {seen}, goal {span(self.low, self.high)}"


AnyGoal = Goal | Share


def share(name: str, flags: Iterable[bool], low: float | None = None, high: float | None = None) -> Share:
    """The share of the flags that is true."""
    listed = list(flags)
    return Share(name, sum(listed), len(listed), low, high)


def within(value: float, goal: AnyGoal) -> bool:
    """Whether a value lies in the goal."""
    return (goal.low is None or value >= goal.low) and (goal.high is None or value <= goal.high)


def span(low: float | None, high: float | None) -> str:
    """A goal in figures, open where it sets no end."""
    return " .. ".join("" if end is None else f"{end:g}" for end in (low, high))


def options(about: str, parts: int) -> argparse.Namespace:
    """`--seed` and `--parts`, the same for every campaign."""
    return parser(about, parts).parse_args()


def parser(about: str, parts: int) -> argparse.ArgumentParser:
    """The same, for a campaign that takes more."""
    made = argparse.ArgumentParser(description=about)
    made.add_argument("--seed", type=int, default=1, help="draws parts and benches; default 1")
    made.add_argument("--parts", type=int, default=parts, help=f"how many virtual parts; default {parts}")
    return made


def close(campaign: str, given: argparse.Namespace, goals: Sequence[AnyGoal]) -> int:
    """Name every goal that is not simply met, print the JSON line, and give the exit code."""
    for goal in goals:
        if goal.state == "cannot be shown" and isinstance(goal, Share):
            print(f"CANNOT BE SHOWN at n = {goal.n}  {goal}")
        elif goal.state != "met":
            print(f"{goal.state.upper()}  {goal}")
    states = {state: sum(goal.state == state for goal in goals) for state in get_args(State)}
    rest = "".join(f", {count} {state}" for state, count in states.items() if count and state != "met")
    print(f"{states['met']} of {len(goals)} goals met{rest}.")
    told = {"campaign": campaign, "seed": given.seed, "parts": given.parts, **states}
    print(json.dumps(told | {"goals": [goal.figures for goal in goals]}))
    return 1 if states["missed"] else 0
