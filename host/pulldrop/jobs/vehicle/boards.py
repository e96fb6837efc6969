"""The board with a vehicle lead: a real bare Nano, or a simulated one on an invented vehicle; and its person's hands.

Rule: a simulated vehicle is used only when it is asked for by name.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace

from pulldrop.board.contract import Board
from pulldrop.jobs.run.boards import SIMULATED, open_board
from pulldrop.judge.socket.losses import QUIET_S
from pulldrop.model.vehicle.lead import Glow, LeadPlace, Spot
from pulldrop.model.wording.near import hint
from pulldrop.plant.bench.leaded import LeadBench
from pulldrop.plant.vehicle import stock
from pulldrop.plant.vehicle.elements import Fuse, Moment
from pulldrop.plant.vehicle.vehicle import Vehicle
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

DIM, BRIGHT = 0.15, 0.6
"""Shares of its volts from which a 5 W bulb glows, and looks as it should (assumed)."""


class NotALead(Exception):
    """This board or vehicle cannot be watched; the message is a sentence for a person."""


@dataclass(frozen=True, slots=True)
class LeadOpened:
    """A board with its lead; `bench`: the simulated one."""

    board: Board
    bench: LeadBench | None = None


Hand = Callable[[LeadPlace], Glow | None]
"""Does what it is asked; tells how the bulb looks where one was placed, None where nobody looked."""


def vehicle(name: str) -> Vehicle:
    """An invented vehicle by its name. Raises NotALead, and BadText."""
    try:
        return fit(parse(stock.text(name), name), Vehicle)
    except KeyError:
        raise NotALead(f"There is no simulated vehicle '{name}'; {hint(name, stock.names())}") from None


def admit(choice: str, car: Vehicle | None) -> None:
    """Raises NotALead for a simulated board without a vehicle, or of a build that has no lead."""
    if choice in SIMULATED and (SIMULATED[choice] == "evening" or car is None):
        known = ", ".join(stock.names())
        raise NotALead(f"A simulated lead needs --board virtual-bare or emulated-bare, and --vehicle, one of {known}.")


@contextmanager
def open_lead(choice: str, car: Vehicle | None, seed: int | None) -> Iterator[LeadOpened]:
    """`choice`: auto, a port, or virtual or emulated (with -bare or without) and its `car`. Raises NotALead for another
    build, BoardError, EmulatorError."""
    if choice not in SIMULATED:
        with open_board(choice, None, None) as real:
            if real.identity.build != "bare":
                raise NotALead(
                    "The vehicle lead belongs to a bare Nano, and this board has parts of another build on its bus. See"
                    " hardware/lead."
                )
            yield LeadOpened(real)
        return
    admit(choice, car)
    assert car is not None
    if choice.startswith("virtual"):
        from pulldrop.board.virtual.lead import LeadBoard

        with LeadBoard(car, seed) as virtual:
            yield LeadOpened(virtual, virtual.plant)
        return
    from pulldrop.board.serial import SerialBoard
    from pulldrop.emulator.leaded import LeadPort

    with (
        LeadPort(car, seed) as port,
        SerialBoard(port, "the emulator", port.clock, port.sleep, port.again) as board,
    ):
        yield LeadOpened(board, port.machine.plant)


def simulated_hand(bench: LeadBench) -> Hand:
    """Whoever stands at a simulated vehicle, and does at once what is asked."""
    lead = bench.lead
    car = lead.vehicle

    def node(spot: Spot) -> str:
        return {"plus": lead.plus, "minus": car.minus}.get(spot) or car.socket.cavities[spot]  # type: ignore[index]

    def do(place: LeadPlace) -> Glow | None:
        now = lead.placed(bench.time_s)
        bulb = (node(place.bulb[0]), node(place.bulb[1])) if place.bulb else None
        placed = replace(
            now,
            clips={**now.clips, "X6": car.minus, **{clip: node(spot) for clip, spot in place.clips.items()}},
            bulb=bulb,
            relay=place.relay,
            positions=(dict(car.socket.works) if place.worked else {}) | _on(car, place.lit),
        )
        lead.place(placed, bench.time_s)
        return (
            glow(lead.solved(placed, Moment(bench.time_s, car.at_rest | dict(placed.positions))).between(*bulb))
            if bulb
            else None
        )

    def glow(volts: float) -> Glow:
        share = abs(volts) / car.system_v
        return "bright" if share > BRIGHT else "dim" if share > DIM else "dark"

    return do


def _on(car: Vehicle, lit: str) -> dict[str, str]:
    """Another circuit's control where it is on: the last of its positions."""
    return {one.name: one.positions[-1] for one in car.controls if one.name == lit}


def rehearse(bench: LeadBench, wiggle: bool) -> float:
    """What happens to a watched, simulated vehicle, and for how long, s: its control is worked, or, to wiggle, a fuse
    is loose after the quiet."""
    if not wiggle:
        stage(bench, 2.0, 5)
        return 12.0
    loose = next(one.name for one in bench.lead.vehicle.elements if isinstance(one, Fuse))
    loosen(bench, loose, (QUIET_S + 2.0, QUIET_S + 3.5), 4e-3)
    return QUIET_S + 5.0


def stage(bench: LeadBench, every_s: float, count: int) -> None:
    """A simulated person who works the relay's control and lets it go, in turn, `count` times in all."""
    lead, start = bench.lead, bench.time_s
    rest = replace(lead.placed(start), positions={})
    for turn in range(count):
        positions = dict(lead.vehicle.socket.works) if turn % 2 == 0 else {}
        lead.plan(replace(rest, positions=positions), start + (turn + 1) * every_s)


def loosen(bench: LeadBench, element: str, at_s: tuple[float, ...], seconds: float) -> None:
    """A simulated joint that opens for so long at these moments from now on."""
    lead, start = bench.lead, bench.time_s
    placed = lead.placed(start)
    for at in at_s:
        lead.plan(replace(placed, parted=frozenset({element})), start + at)
        lead.plan(placed, start + at + seconds)
