"""How a crate is sorted: its two protocols, and the rules that give a part its bin, with every limit a number.

Rule: nothing here says that a part may be kept that was not tested in full; the judge sees to that.
"""

from pydantic import Field

from pulldrop.model.crate.crate import Bin
from pulldrop.model.limit import Limit
from pulldrop.model.raw import Frozen
from pulldrop.model.run.plan import Plan


class Rule(Frozen):
    """One bin and what must hold for it, all of it together; what is left out is not asked.

    passes: every limit of the protocol is met; but_for: every limit is met, those of these aside; fails: one of these
    that the protocol measures fails; within: these are surely inside; found: the weightiest finding of the diagnosis is
    one of these.
    """

    bin: Bin
    why: str
    passes: bool = False
    fails: tuple[str, ...] = ()
    but_for: tuple[str, ...] = ()
    within: dict[str, Limit] = Field(default_factory=dict)
    found: tuple[str, ...] = ()


class Sorting(Frozen):
    """A crate's protocol: `screen` ends as soon as the bin is certain, `full` decides where the screen cannot.

    golden_every: parts between two golden parts, 0 for none. `rules` from the top; where none holds: look again.
    """

    name: str
    version: int
    title: str
    screen: Plan
    full: Plan
    golden_every: int
    rules: tuple[Rule, ...]
    text: str
    sha256: str
