"""One named fault as the table has it: what it changes, what to do with the part, what distinguishes it from similar"
" faults."""

from dataclasses import dataclass, field
from typing import Literal

from pulldrop.judge.diagnosis.bands import Expected
from pulldrop.model.part.pair import Pair

USUAL, RARE = 0.01, 0.001
"""Shares of all parts that come to the bench (assumed): a contact burns far more often than a blade rots."""


Fate = Literal["never fit", "fit with care", "fit"]


@dataclass(frozen=True, slots=True)
class PartFault:
    """One named fault. `does`: what it changes, by clue; `further`: the test that distinguishes it from similar faults.

    `share`: how many of all parts that come to the bench have it (assumed); `pairs`: only parts with these can have it.
    `alone`: never one of two, because what it changes another one may hide.
    `only_where`: a clue, and what it must be lest the fault be none, however well it would explain the others.
    `needs`: the clue without which it is not named, because similar faults look alike; `told_by`: the clue that
    `further` gives, which is worth having however probable the fault is.
    `advice_worn`: instead of `advice` where the contact drops that it raises meet their limits and nothing fails.
    `advice_met`: instead of `advice` where all that was wanted was measured and met its limits.
    `called`: what a sentence calls it where only a reference (three siblings, or a maker's sheet) tells it from another
    design; empty: it is known without one.
    `fate`: what `advice` comes to: a part that is never fitted, one that is fitted only where or when it says, or one
    that may be fitted. `spared`: where it may go all the same, for a part that has another throw.
    """

    id: str
    title: str
    advice: str
    does: dict[str, Expected] = field(hash=False)
    further: str = ""
    share: float = USUAL
    pairs: tuple[Pair, ...] = ()
    alone: bool = False
    only_where: tuple[str, Expected] | None = field(default=None, hash=False)
    needs: str = ""
    told_by: str = ""
    advice_worn: str = ""
    advice_met: str = ""
    fate: Fate = "never fit"
    spared: str = ""
    called: str = ""
