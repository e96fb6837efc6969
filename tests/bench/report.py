"""How a campaign tells its result: text for a person, one JSON object as the last line, and an exit code."""

import argparse
import json
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Goal:
    """One figure beside its goal; `low` and `high` as far as the goal sets them."""

    name: str
    value: float
    low: float | None = None
    high: float | None = None

    @property
    def met(self) -> bool:
        return (self.low is None or self.value >= self.low) and (self.high is None or self.value <= self.high)


def options(about: str, parts: int) -> argparse.Namespace:
    """`--seed` and `--parts`, the same for every campaign."""
    return parser(about, parts).parse_args()


def parser(about: str, parts: int) -> argparse.ArgumentParser:
    """The same, for a campaign that takes more."""
    made = argparse.ArgumentParser(description=about)
    made.add_argument("--seed", type=int, default=1, help="draws parts and benches; default 1")
    made.add_argument("--parts", type=int, default=parts, help=f"how many virtual parts; default {parts}")
    return made


def close(campaign: str, given: argparse.Namespace, goals: list[Goal]) -> int:
    """Name the missed goals, print the JSON line, and give the exit code."""
    missed = [g for g in goals if not g.met]
    for goal in missed:
        bounds = " .. ".join("" if b is None else f"{b:g}" for b in (goal.low, goal.high))
        print(f"MISSED  {goal.name}: {goal.value:.4g}, goal {bounds}")
    print(f"{len(goals) - len(missed)} of {len(goals)} goals met.")
    figures = [asdict(g) | {"met": g.met} for g in goals]
    told = {"campaign": campaign, "seed": given.seed, "parts": given.parts, "met": not missed, "goals": figures}
    print(json.dumps(told))
    return 1 if missed else 0
