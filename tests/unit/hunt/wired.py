"""A wire with a known rule, and a person who does exactly what is asked: for tests of hunts."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from pulldrop.hunt.session import Hunt
from pulldrop.model.hunt.ask import AnyAsk, PauseStep, ReadBackStep
from pulldrop.model.hunt.look import WireLevel, WireLook

Wire = Callable[[list[int]], bool | WireLevel]


@dataclass
class Driven:
    """Drives a hunt to its end. `before`: called with every step before it is done, to bring a slip about."""

    hunt: Hunt
    wire: Wire
    before: Callable[["Driven", AnyAsk], None] = lambda self, ask: None
    positions: list[int] = field(default_factory=list)
    asked: list[AnyAsk] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.positions = self.positions or [0] * self.hunt.space.n

    def run(self, most: int = 200) -> "Driven":
        for _ in range(most):
            ask = self.hunt.next_step()
            if ask is None:
                break
            self.answer(ask)
        return self

    def answer(self, ask: AnyAsk) -> None:
        self.asked.append(ask)
        self.before(self, ask)
        if isinstance(ask, ReadBackStep):
            self.hunt.read_back(self.positions)
        elif isinstance(ask, PauseStep):
            self.move([(move.control, move.position) for move in ask.moves])
            self.hunt.paused()
        else:
            moves = [(move.control, move.position) for move in ask.moves]
            self.hunt.seen(self.move(moves) or [self.look()])

    def move(self, moves: Sequence[tuple[str, int]]) -> list[WireLook]:
        """A look after each."""
        looks = []
        for control, position in moves:
            self.positions[self.hunt.space.index(control)] = position
            looks.append(self.look())
        return looks

    def look(self) -> WireLook:
        seen = self.wire(self.positions)
        level = seen if isinstance(seen, WireLevel) else WireLevel.ON if seen else WireLevel.OPEN
        return WireLook(level=level, rose_s=0.0, fell_s=0.0)
