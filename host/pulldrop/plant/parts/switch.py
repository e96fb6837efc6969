"""The shape of one virtual switch; its physics is in `plant/switch`."""

from typing import Literal, Self

from pydantic import Field, model_validator

from pulldrop.model.part.pair import Pair
from pulldrop.plant.inserted import Inserted, Wired
from pulldrop.plant.network import Element, Resistor
from pulldrop.plant.shape import KindSpecimen, Shape
from pulldrop.plant.switch.contacts import Contacts, Knob, ranges, without
from pulldrop.plant.switch.inside import Inside, live


class DeadSpot(Shape):
    """Angles at which a pair is open although it is closed on both sides, or at the edge of its position."""

    pair: Pair = Field(description="the pair")
    low: float = Field(ge=-1, le=100, description="from here on, counted in positions from 0")
    high: float = Field(ge=-1, le=100, description="to here")


class SwitchFaults(Shape):
    """What went wrong since it was made."""

    dead: tuple[DeadSpot, ...] = Field(default=(), description="worn or burnt tracks")
    films: dict[str, float] = Field(default_factory=dict, description="ohms of a film by pair, such as {30-58: 40}")
    live: dict[str, float] = Field(default_factory=dict, description="terminals still on the vehicle, and their volts")


class SwitchSpecimen(KindSpecimen):
    """A switch by its positions in the order in which the knob comes to them."""

    kind: Literal["switch"] = Field(description="kind of part")
    positions: dict[str, tuple[Pair, ...]] = Field(min_length=2, description="closed pairs by position")
    terminals: tuple[str, ...] = Field(
        default=(),
        description="in the order of the bench's lines 30, 87, 87a, leads 1 to 4, 85; else as pairs name them",
    )
    start: str = Field(default="", description="position in which it comes to the bench; else the first")
    springs: dict[str, str] = Field(default_factory=dict, description="spring return: held position, where it goes")
    overlap: float = Field(
        default=-0.2, gt=-0.5, lt=0.5, description="steps beyond half: over 0 it makes before it breaks"
    )
    contact_mohm: float = Field(default=5.0, ge=0, le=1e7, description="resistance of a closed pair (assumed)")
    scatter: float = Field(default=0.3, ge=0, le=3, description="of it from make to make, as for relays (assumed)")
    bounce_ms: float = Field(
        default=1.6, ge=0, le=200, description="of each make (Ganssle: mean 1.557 ms, second hand)"
    )
    inside: tuple[Inside, ...] = Field(default=(), description="lamps, diodes and resistors in it")
    faults: SwitchFaults = Field(default_factory=SwitchFaults, description="what is wrong with it")

    @model_validator(mode="after")
    def _known_names(self) -> Self:
        for name in (*([self.start] if self.start else []), *self.springs, *self.springs.values()):
            if name not in self.positions:
                raise ValueError(f"'{name}' is no position of it; known are {', '.join(self.positions)}")
        return self

    @property
    def outside(self) -> tuple[str, ...]:
        """Its terminals, in the order of the bench's lines."""
        named = [pair for closed in self.positions.values() for pair in closed]
        named += [one.between for one in self.inside]
        return self.terminals or tuple(dict.fromkeys(name for pair in named for name in (pair.a, pair.b)))

    def contacts(self, seed: int) -> Contacts:
        """Its contacts, and a knob that nobody has touched yet."""
        names = list(self.positions)
        closed = ranges([frozenset(one) for one in self.positions.values()], self.overlap)
        for spot in self.faults.dead:
            closed[spot.pair] = without(closed[spot.pair], spot.low, spot.high)
        films = {Pair.parse(name): ohm for name, ohm in self.faults.films.items()}
        knob = Knob(float(names.index(self.start or names[0])))
        return Contacts(knob, closed, self.contact_mohm * 1e-3, self.scatter, films, self.bounce_ms * 1e-3, seed)

    def wired(self, seed: int) -> Wired:
        """See `Wires`."""
        contacts = self.contacts(seed)
        fixed = tuple(one.element() for one in self.inside) + tuple(live(*one) for one in self.faults.live.items())

        def elements(time_s: float) -> tuple[Element, ...]:
            touching = contacts.touching(time_s)
            return (*fixed, *(Resistor(pair.a, pair.b, ohm) for pair, ohm in touching.items()))

        names = list(self.positions)
        springs = {names.index(held): names.index(to) for held, to in self.springs.items()}
        return Wired(elements, self.outside, contacts.knob, len(names), springs)

    def in_socket(self) -> Inserted:
        """See `KindSpecimen`."""
        return Inserted.of(self)


SPECIMEN = SwitchSpecimen
