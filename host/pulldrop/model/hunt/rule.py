"""A rule in the language of hunts: which positions of which controls make a wire live."""

from pydantic import Field

from pulldrop.model.hunt.look import Side, WireLevel
from pulldrop.model.raw import Frozen


class Condition(Frozen):
    """A control in one of these positions. It inhibits where rest is among them, else it is needed."""

    control: str
    positions: tuple[int, ...] = Field(min_length=1)

    @property
    def inhibits(self) -> bool:
        return 0 in self.positions


class TriggerPath(Frozen):
    """Conditions in series: all of them together make the wire live, at this level."""

    conditions: tuple[Condition, ...]
    level: WireLevel = WireLevel.ON


class Memory(Frozen):
    """A button that turns the wire on and off by turns while the path holds; `resets`: losing the path forgets it."""

    button: str
    position: int
    resets: bool


class TriggerRule(Frozen):
    """Paths in parallel. `on_s`, `off_s`: the longest delay seen before it came and went."""

    paths: tuple[TriggerPath, ...]
    memory: Memory | None = None
    side: Side = Side.HIGH
    on_s: float = 0.0
    off_s: float = 0.0
