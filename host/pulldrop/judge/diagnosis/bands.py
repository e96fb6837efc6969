"""How well one clue agrees with what is expected of it.

An expectation is a band in plain numbers: inside it every value is alike (on a logarithmic scale), outside it
falls off as a normal quantity whose width is the reading's uncertainty and the softness of the band together.
"""

import math
from dataclasses import dataclass

from pulldrop.judge.diagnosis.evidence.clue import Clue, Sign, log_of

SOFT = 0.03
"""Softness of every band's edge, as a share of the value (assumed)."""
LEAST = 1e-4
"""Nothing is quite impossible: a reading that no rule foresees costs this much (assumed)."""
SURE, OTHER = 0.98, 0.01
"""Probability of a contact state that a fault implies, and of each other one (assumed)."""
ANY_WIDTH = 7.0
"""What may be anything lies somewhere within a factor of a thousand."""


@dataclass(frozen=True, slots=True)
class Band:
    """Between `low` and `high`, in the clue's unit; `soft`: of its edges, as a share of the value.

    `or_missing`: probability that the part does not allow the measurement at all.
    """

    low: float
    high: float
    soft: float = SOFT
    or_missing: float = OTHER


@dataclass(frozen=True, slots=True)
class Like:
    """As parts of its design read: about `centre`, in the clue's unit; `spread`: scale of the logarithm between parts,
    with what is uncertain of the centre; `freedom`: degrees of freedom of Student's distribution, few for what now and
    then differs much."""

    centre: float
    spread: float
    freedom: int

    @property
    def density_at_centre(self) -> float:
        """Times the scale."""
        half = self.freedom / 2
        return math.exp(math.lgamma(half + 0.5) - math.lgamma(half)) / math.sqrt(math.pi * self.freedom)


@dataclass(frozen=True, slots=True)
class Perhaps:
    """A mild fault need not move this one: as `moved`, or as `usual`, with equal right."""

    moved: Band
    usual: Like | Band


@dataclass(frozen=True, slots=True)
class AnySign:
    """One of these; one that stands here twice is twice as likely."""

    any_of: tuple[Sign, ...]


@dataclass(frozen=True, slots=True)
class Missing:
    """The part does not allow this measurement."""


@dataclass(frozen=True, slots=True)
class Anything:
    """The fault says nothing of it: may be missing, may be any value."""


Expected = Band | Like | Perhaps | AnySign | Missing | Anything


def agreement(clue: Clue, expected: Expected) -> float:
    """Likelihood of the clue: a density on the logarithm of the value, or a probability of a state or a bound."""
    match expected:
        case Anything():
            return 0.5 if clue.missing or clue.state is not None or clue.bound != "=" else 1 / ANY_WIDTH
        case Missing():
            return SURE if clue.missing else OTHER / ANY_WIDTH
        case AnySign(any_of):
            return SURE * any_of.count(clue.state) / len(any_of) if clue.state in any_of else OTHER
        case Band():
            return expected.or_missing if clue.missing else max(_in_band(clue, expected), LEAST)
        case Like():
            return OTHER if clue.missing else max(_like(clue, expected), LEAST)
        case Perhaps(moved, usual):
            return (agreement(clue, moved) + agreement(clue, usual)) / 2


def _in_band(clue: Clue, band: Band) -> float:
    value, u = log_of(clue)
    low, high = math.log(band.low), math.log(band.high)
    soft = math.hypot(band.soft, min(u, 2.0))
    if clue.bound != "=":
        share = min(max((high - value) / (high - low), 0.0), 1.0)
        return share if clue.bound == ">" else 1 - share
    beyond = max(low - value, value - high, 0.0) / soft
    return math.exp(-beyond * beyond / 2) / (high - low + soft * math.sqrt(2 * math.pi))


def _like(clue: Clue, expected: Like) -> float:
    value, u = log_of(clue)
    scale = math.hypot(expected.spread, min(u, 2.0))
    off = (value - math.log(expected.centre)) / scale
    if clue.bound != "=":
        return 0.5 * math.erfc((off if clue.bound == ">" else -off) / math.sqrt(2))
    few = expected.freedom
    return expected.density_at_centre / scale * math.pow(1 + off * off / few, -(few + 1) / 2)


def outside(clue: Clue, expected: Expected) -> bool:
    """Whether the clue plainly does not agree. A bound agrees with a probability, a value with a density."""
    bounds = clue.bound != "=" and isinstance(expected, Band | Like | Perhaps)
    return agreement(clue, expected) < 0.15 * (1.0 if bounds else _best(expected))


def _best(expected: Expected) -> float:
    match expected:
        case Band(low, high, soft, _):
            return 1 / (math.log(high / low) + soft * math.sqrt(2 * math.pi))
        case Like():
            return expected.density_at_centre / expected.spread
        case Perhaps(moved, _):
            return _best(moved) / 2
        case AnySign(any_of):
            return SURE * max(map(any_of.count, any_of)) / len(any_of)
        case Missing():
            return SURE
        case Anything():
            return 0.0
