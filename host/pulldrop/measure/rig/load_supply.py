"""Whether there is a load supply, that it is none that the bench was not built for, and that its current goes home.

Rule: the lock-out of K1 ends at 15 to 17 V by its parts. What reads more has come past it, and is never loaded.
"""

from statistics import fmean

from pulldrop.board.contract import Board
from pulldrop.board.errors import WireTrouble, WrongSupply
from pulldrop.board.request_types import LOAD_SUPPLY_LEAST, Analog, Branch, Pulse, Watch
from pulldrop.measure.rig.counts.channels import LOAD_SUPPLY_GAIN, SUM
from pulldrop.model.bench.abilities import Abilities
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import Contact

CHARGED_V, ROOM = 14.8, 1.04
"""A battery on charge; what may be read above that beside what the board's own 5 V make of it."""

LOOK_MS = 40
MOST_1A = 1.4
"""Of the 1 A branch: 12 ohm less 5 %, at 14.5 V, and the shunt's zero."""
RETURN_LOST = (
    "more than the 1 A branch can give. The load's own return, load_minus, is off, and its current goes home by a"
    " second earth and the thin wire from R30's V- to ground, on which it drops volts. Pull F2, then mend load_minus"
)


def returns(board: Board, throw: Contact) -> None:
    """A closed throw at 1 A before anything more: does the load go home by its own wire. Raises WireTrouble.

    What flows without a branch is a transistor's, which has a check of its own. A build without that branch cannot
    look.
    """
    if 1.0 not in board.identity.able.loads_a:
        return
    load = nominal(0).load
    stray_a = load.value(board.watch_load(Watch(throw, Branch.NONE, LOOK_MS)).first)
    amps = load.value(fmean(board.load_pulse(Pulse(throw, Branch.A1, settle_ms=4, samples=4, limit_ms=60)).shunt))
    if amps - stray_a > MOST_1A:
        raise WireTrouble(f"The load shunt reads {amps:.2f} A, {RETURN_LOST}.")


def volts(board: Board) -> float:
    """Volts behind the main relay."""
    return _volts(board, board.sense_analog(Analog.LOAD_SUPPLY))


def _volts(board: Board, counts: int) -> float:
    return counts / SUM * LOAD_SUPPLY_GAIN * board.identity.able.reference_v / 5.0


def most_v(able: Abilities) -> float:
    """What a 12 V battery on charge reads at most, by the 5 V that it is read against: 16 V on a full bench."""
    return round(ROOM * CHARGED_V / (1 - able.reference_share), 1)


def there(board: Board) -> bool:
    """Whether it is connected, 9 V and more. Raises WrongSupply above `most_v`, and where it has gone meanwhile.

    A bench that had its load and lost it is not one that never had any: a wire, a fuse or the supply has failed.
    """
    counts = board.sense_analog(Analog.LOAD_SUPPLY)
    if (found_v := _volts(board, counts)) > most_v(board.identity.able):
        raise WrongSupply(too_high(found_v, most_v(board.identity.able)))
    if counts < LOAD_SUPPLY_LEAST and board.identity.load_supply:
        raise WrongSupply(gone(found_v))
    return counts >= LOAD_SUPPLY_LEAST


def too_high(found_v: float, limit_v: float) -> str:
    """The sentence for a load supply beyond its limit."""
    return (
        f"The load supply reads {found_v:.1f} V; this bench loads from a 12 V battery, {limit_v:g} V at most, so"
        " nothing was loaded. Press the emergency stop and take the supply off. K1 should have stayed open: look at Z1"
        " and Q11. With a 12 V battery on charge, look at the 5 V instead: below 4.7 V everything reads too much."
    )


def gone(found_v: float) -> str:
    """The sentence for a load supply that was there when the board was opened."""
    return (
        f"The load supply reads {found_v:.1f} V, and was there when the board was opened. Look at its clamps and"
        " wires, its fuses, K1 and the stop. Two parts open K1 on purpose: TS1 while the load plate is hot (let it"
        " cool), and Z1 above 15 V (a battery on charge). Then run again. To test without load, open the board with the"
        " supply off."
    )
