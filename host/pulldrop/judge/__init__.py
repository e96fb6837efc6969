"""Where limits enter: reading and limit to outcome, outcomes to verdict."""

from pulldrop.judge.decide import decide, judge_finding
from pulldrop.judge.verdict import verdict

__all__ = ["decide", "judge_finding", "verdict"]
