"""The socket with one part in it, in simulated time: pins in, edges out; who touches, what flows, what warms.

Rule: what feeds it is `feeds.py`'s; what the converters and the scan see of it is `bench.py`'s.
"""

from dataclasses import dataclass, replace
from math import inf
from typing import TypeVar

from pulldrop.plant.bench import frontend as fe
from pulldrop.plant.bench import inputs, scan
from pulldrop.plant.bench.feeds import Feeds
from pulldrop.plant.bench.pins import Pins as Pins
from pulldrop.plant.noise import Chance
from pulldrop.plant.relay.armature import Change
from pulldrop.plant.relay.contact import HEAT_FROM_V, Heat, Touch
from pulldrop.plant.relay.relay import NC, NO, RelayModel
from pulldrop.plant.relay.terminals import blades
from pulldrop.plant.specimen import Specimen

FOLLOWER_V = 3.5
"""An open contact lets the throw's MOSFET act as a source follower: gate at 5 V less its threshold."""
MAKE_S = 5e-3
"""A throw that was open for longer has been made again; a shorter opening is bounce."""
MELT_FREEZES_S = 1e-3
"""A contact that has rested for so long after it bounced under load is frozen to what it melted (assumed)."""

T = TypeVar("T")
Metal = tuple[float, tuple[float, float], tuple[Heat, Heat]]
"""When the load last changed, how warm the metal of both throws was then, in kelvin, and what heats them since."""
COLD: Metal = (0.0, (0.0, 0.0), (Heat(), Heat()))
Melt = tuple[float, float, float]
"""When a throw touched first in this make, when it landed last, and ampere-seconds of load between the two."""
SOLID: Melt = (-1.0, -1.0, 0.0)
UNMELTED = (SOLID, SOLID)
CARRIED, SOLVED, PASSES = 1e-3, 1e-6, 20
"""By which share more amps count as more than a contact has carried; where the search for amps that warm the spots they
flow in ends, and after how many passes at most: each is nearer by a factor of 8 or more."""


@dataclass(frozen=True, slots=True)
class PinEdge:
    """One change of an edge pin. throw: 0 for NO (87), 1 for NC (87a); closed: the pin is low."""

    time_s: float
    throw: int
    closed: bool


class Socket(Feeds):
    """One part on one bench. `seed` None: a perfect bench without noise; else parts and noise drawn from it."""

    def __init__(self, specimen: Specimen, seed: int | None) -> None:
        super().__init__(seed)
        self.specimen, self._seed = specimen, seed
        if specimen.temperature_c is not None:
            self.frontend = self.frontend.at(specimen.temperature_c)
        self.inputs = inputs.drawn(seed)
        self.relay = self._relay(specimen, seed)
        self.contacts = specimen.contacts
        self._seats = None if seed is None else Chance(seed ^ 0x5EA7)
        self._seated = self.frontend.seated(self._seats)
        self.leads_exchanged = False
        self._chance = Chance(seed or 0)
        self._makes = (Chance((seed or 0) ^ 0x87), Chance((seed or 0) ^ 0x87A))
        self._touches = (Touch(self._makes[NO].normal()), Touch(self._makes[NC].normal()))
        self._opened_s = (-1.0, -1.0)
        self._rubbed = self.relay.touching
        self._low = (False, False)
        self._waiting: tuple[PinEdge, ...] = ()
        self._warmth = (0.0, 0.0, 0.0)
        self._metal = COLD
        self._hot_weld = _hot_weld(specimen)
        self._melt = UNMELTED
        self._look(0.0, self.relay.touching)
        self._waiting = ()

    def insert(self, specimen: Specimen) -> None:
        """Another part into the socket, with everything off. The bench around it stays as it is, and time goes on."""
        self.drive(Pins())
        self.specimen = specimen
        self._seated = self.frontend.seated(self._seats)
        seed = None if self._seed is None else self._chance.state
        self.relay = self._relay(specimen, seed)
        self.relay.advance(self.time_s)
        if self.leads_exchanged:
            self.relay.exchange_leads()
        self.contacts = specimen.contacts
        self._touches = (Touch(self._chance.normal()), Touch(self._chance.normal()))
        self._rubbed = self.relay.touching
        self._hot_weld = _hot_weld(specimen)
        self._metal, self._melt = COLD, UNMELTED
        self._look(self.time_s, self.relay.touching)

    def exchange_leads(self, exchanged: bool) -> None:
        """The leads to 85 and 86 in each other's place, or back in their own, with everything off."""
        self.drive(Pins())
        if exchanged != self.leads_exchanged:
            self.leads_exchanged = exchanged
            self.relay.exchange_leads()

    def _relay(self, specimen: Specimen, seed: int | None) -> RelayModel:
        return specimen.relay(self.frontend.temperature_c, seed, self.frontend.harness)

    # --- time ---

    def drive(self, pins: Pins) -> None:
        """New levels from this moment on; edges that they cause come with the next advance."""
        if pins == self.pins:
            return
        self._warmth = (*self.warmth_k(), self.time_s)
        arrived = self._arriving(pins)
        if arrived.throws and not self._arrived.throws:
            self._throws_since = self.time_s
            if self.contacts[NO].shifts:
                self._touches = _with(self._touches, NO, replace(self._touches[NO], draw=self._makes[NO].normal()))
        self.pins, self._arrived = pins, arrived
        self._feed_coil()
        self._look(self.time_s, self.relay.touching)
        self._warm_metal(self.time_s, self.relay.touching)

    def press_stop(self, pressed: bool) -> None:
        """Press the emergency stop, or release it: it breaks both supplies and informs the board."""
        self.stop_pressed = pressed
        self._feed_coil()

    def _feed_coil(self) -> None:
        if self.specimen.layout == "usual":
            pins = self._arrived
            self.relay.drive(self.coil_supply_v, pins.coil, pins.diode)

    def advance(self, until_s: float) -> list[PinEdge]:
        """Step to `until_s`; edges of the two pins since the last call."""
        return self._reached(until_s, self.relay.told, self.relay.advance(until_s))

    def _reached(self, until_s: float, told: tuple[bool, bool], changes: list[Change]) -> list[PinEdge]:
        """Edges that follow from the changes of touch until now; `told`: the touches before them."""
        for at, throw, closed in changes:
            told = _with(told, throw, closed)
            if closed:
                self._landed(throw, at)
            else:
                self._opened_s = _with(self._opened_s, throw, at)
            self._look(at, told)
            self._warm_metal(at, told)
        self.time_s = until_s
        if self._melt is not UNMELTED:
            self._freeze()
        edges = [edge for edge in self._waiting if edge.time_s <= until_s]
        if edges:
            self._waiting = tuple(edge for edge in self._waiting if edge.time_s > until_s)
        return sorted(edges, key=lambda edge: edge.time_s)

    @property
    def calm(self) -> bool:
        """Armature and contacts stay as they are, and only warmth changes the current, until something is driven."""
        return self.relay.quiet

    @property
    def straight_s(self) -> float:
        """For so long the coil's current is a straight line to 0.1 converter counts, unless something is driven or
        begins to move; 0 in motion. It is half of a step at rest: a whole one bends by 0.2 mA, half of it by a quarter
        of that, and stands off its chord by an eighth of that."""
        relay = self.relay
        if relay.quiet:
            return inf
        return relay.pace / 2 if relay.mode == "rest" and relay.settled else 0.0

    def closed(self) -> int:
        """Bits of the throws whose pin is low now."""
        return self._low[NO] * 1 + self._low[NC] * 2

    def snapshot(self) -> object:
        """Everything that changes, cheap to take."""
        return (
            self.relay.snapshot(), self.time_s, self.pins, self._chance.state, self._makes[NO].state,
            self._makes[NC].state, self._touches, self._opened_s, self._rubbed, self._low, self._waiting,
            self._warmth, self._metal, self._melt, self._throws_since, self._arrived,
        )  # fmt: skip

    def restore(self, snapshot: object) -> None:
        """Back to a snapshot of this bench."""
        (
            relay, self.time_s, self.pins, self._chance.state, self._makes[NO].state,
            self._makes[NC].state, self._touches, self._opened_s, self._rubbed, self._low, self._waiting,
            self._warmth, self._metal, self._melt, self._throws_since, self._arrived,
        ) = snapshot  # type: ignore[misc]  # the tuple that snapshot() made  # fmt: skip
        self.relay.restore(relay)  # type: ignore[has-type]

    # --- contacts ---

    def _landed(self, throw: int, at: float) -> None:
        """A new make finds new spots to touch on; a bounce comes down on the old ones, and melts them under load."""
        made = at - self._opened_s[throw] > MAKE_S
        if made:
            rubbed = self._rubbed[throw] and self.contacts[throw].film_rubs_off
            gone = rubbed or self._touches[throw].film == "gone"
            touch = Touch(self._makes[throw].normal(), "gone" if gone else "whole")
            self._touches = _with(self._touches, throw, touch)
            self._rubbed = _with(self._rubbed, throw, True)
        if self._hot_weld[throw]:
            first = at if made else self._melt[throw][0]
            amps = self._node(throw, True)[1] if self._branches else 0.0
            self._melt = _with(self._melt, throw, (first, at, amps * (at - first)))

    def _freeze(self) -> None:
        """What a throw melted while it bounced holds it, with a force in proportion to what flowed then (assumed)."""
        for throw in (NO, NC):
            _, landed, ampere_s = self._melt[throw]
            if ampere_s and self.relay.touching[throw] and self.time_s - landed >= MELT_FREEZES_S:
                self._melt = _with(self._melt, throw, SOLID)
                self.relay.stick(throw, ampere_s * self._hot_weld[throw])

    def _look(self, at: float, touching: tuple[bool, bool]) -> None:
        """Break films that break, squeeze spots, and see which pins will turn over by what happens at this moment."""
        low = list(self._low)
        touching = self._joined(touching)
        for throw in (NO, NC):
            node, amps = self._node(throw, touching[throw])
            if touching[throw] and amps > self._touches[self._own(throw)].carried_a * (1 + CARRIED):
                node, amps = self._carried(throw, node, amps)
            tacks_a = self.specimen.faults.tacks_a
            if throw == NO and touching[NO] and tacks_a is not None and amps >= tacks_a:
                self.relay.stick(NO, self.specimen.faults.weld_n)
            if self._pin_low(throw, node, low[throw]) != low[throw]:
                low[throw] = not low[throw]
                self._turn(at, throw, low[throw])
        self._low = (low[NO], low[NC])

    def _carried(self, throw: int, node: float, amps: float) -> tuple[float, float]:
        """A contact has come to carry `amps`, more than before in this make: as `_node`, with what became of it."""
        own = self._own(throw)
        contact, touch = self.contacts[own], self._touches[own]
        if touch.film == "whole" and contact.film_breaks(amps):
            touch = replace(touch, film="bridged")
            self._touches = _with(self._touches, own, touch)
            node, amps = self._node(throw, True)
        if touch.film == "bridged" and contact.film_burns(amps):
            touch = replace(touch, film="gone")
            self._touches = _with(self._touches, own, touch)
            node, amps = self._node(throw, True)
        self._touches = _with(self._touches, own, replace(touch, carried_a=amps))
        return node, amps

    def _turn(self, at: float, throw: int, closed: bool) -> None:
        """A pin follows its terminal a little later; what is over before that never reaches it."""
        gone = [edge for edge in self._waiting if edge.throw == throw and edge.time_s > at]
        if gone:
            self._waiting = tuple(edge for edge in self._waiting if edge not in gone)
        else:
            late_s = self.inputs.late_s(closed, self._load_v > 0)
            self._waiting += (PinEdge(at + late_s, throw, closed),)

    def _pin_low(self, throw: int, node_v: float, was_low: bool) -> bool:
        """Level of an edge pin whose terminal stands at `node_v`."""
        return self.inputs.low(self._edge_v(throw, node_v), was_low, self.frontend.vcc_v)

    def _edge_v(self, throw: int, node_v: float) -> float:
        return self.inputs.edge_v(throw, node_v, self._pulled(throw), self.frontend.vcc_v)

    def _pulled(self, throw: int) -> bool:
        return bool(self.pins.pull_ups >> throw & 1)

    def _joined(self, touching: tuple[bool, bool]) -> tuple[bool, bool]:
        """Whether 87 and 87a of the socket are joined to the common contact, for the contacts that touch."""
        no, nc = touching
        has = blades(self.specimen.form)
        return (no and has.no, no if has.twin else nc and has.nc)

    def _own(self, throw: int) -> int:
        """The throw whose contact joins the blade that a throw of the bench sees."""
        return NO if blades(self.specimen.form).twin else throw

    def _contact_ohm(self, throw: int, amps: float = 0.0) -> float:
        throw = self._own(throw)
        rise_k = self._metal_k(throw, self.time_s) if self._metal is not COLD else 0.0
        return self.contacts[throw].ohm(self.relay.force[throw], self._touches[throw], amps, rise_k)

    def _metal_k(self, throw: int, at: float) -> float:
        """Kelvin by which its load has warmed a throw's metal."""
        _, rises, heats = self._metal
        return self.contacts[throw].rise_k(rises[throw], heats[throw], at - self._metal[0])

    def _warm_metal(self, at: float, touching: tuple[bool, bool]) -> None:
        """From this moment on the throws are heated by what flows in them now; dry currents heat nothing."""
        if not self._branches and self._metal is COLD:
            return
        rises = (self._metal_k(NO, at), self._metal_k(NC, at))
        heats = (Heat(), Heat())
        if self._branches:
            joined = self._joined(touching)
            heats = (self._heat(NO, joined[NO]), self._heat(NC, joined[NC]))
        self._metal = (at, rises, heats)

    def _heat(self, throw: int, touching: bool) -> Heat:
        """What heats a throw from now on."""
        amps = self._node(throw, touching)[1]
        volts = self._load_v if touching and self._throws & 1 << throw else 0.0
        return Heat(amps**2 * self._contact_ohm(throw, amps), volts, 1 / self._load_siemens(), FOLLOWER_V)

    def _node(self, throw: int, touching: bool) -> tuple[float, float]:
        """Volts of terminal 87 or 87a against ground, and amps through the contact.

        The pull-ups of its edge pin feed a terminal always, with about 20 uA.
        """
        bit, pins, front = 1 << throw, self._arrived, self.frontend
        dry, loaded = bool(pins.dry & bit), bool(self._throws & bit and self._branches)
        below = fe.LOAD_SHUNT_OHM * (1 + front.load_shunt) + self._seated.clip_ohm[throw]
        if self.specimen.layout == "exchanged":
            below = scan.COIL_REST_OHM
        dry_s = dry / self.dry_ohm + 1 / self.inputs.feed_ohm(throw, self._pulled(throw))
        feed_a, load_s = front.vcc_v * dry_s, self._load_siemens() if loaded else 0.0
        amps = self._touches[self._own(throw)].carried_a if loaded else 0.0
        for _ in range(PASSES):
            siemens = 1 / (self._contact_ohm(throw, amps) + below) if touching else 0.0
            node = without_load = feed_a / (dry_s + siemens)
            if loaded:
                node = (feed_a + self._load_v * load_s) / (dry_s + siemens + load_s)
                node = min(node, max(FOLLOWER_V, without_load))
            guess, amps = amps, node * siemens
            if abs(amps - guess) <= SOLVED * amps or node < HEAT_FROM_V:
                break
        return node, amps

    def _load_a(self) -> float:
        """Amps through the load shunt."""
        joined = self._joined(self.relay.touching)
        return sum(self._node(throw, joined[throw])[1] for throw in (NO, NC))

    def warmth_k(self) -> tuple[float, float]:
        """Kelvin by which their currents have warmed the fast shunt and the load shunt."""
        fast_k, load_k, since = self._warmth
        passed = self.time_s - since
        fast = fe.FAST_SHUNT.rise_k(fast_k, self.relay.circuit().shunt_a, passed)
        return fast, fe.LOAD_SHUNT.rise_k(load_k, self._load_a(), passed)


def _hot_weld(specimen: Specimen) -> tuple[float, float]:
    """Newtons by which each ampere-second of bounce welds NO and NC; 0 of a sound throw."""
    faults = specimen.faults
    return faults.hot_weld_n_per_as or 0.0, faults.hot_weld_nc_n_per_as or 0.0


def _with(pair: tuple[T, T], throw: int, value: T) -> tuple[T, T]:
    return (value, pair[NC]) if throw == NO else (pair[NO], value)
