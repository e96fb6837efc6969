"""The procedure: refuse what is still live, then look again and again while a person moves the switch hands free.

Rule: nothing is driven before every line was seen without volts of its own; nothing but the scan is ever driven.
"""

from collections.abc import Callable, Sequence

from pulldrop.board.contract import Board
from pulldrop.board.request_types import Scan
from pulldrop.measure.positions.joints import Joints
from pulldrop.measure.positions.learner import Learner
from pulldrop.measure.positions.passages import Passages, tell_apart, watched
from pulldrop.measure.positions.table import table
from pulldrop.measure.rig.counts.channels import FULL_SCALE, LOOK_V
from pulldrop.measure.rig.scan_read import BARE_FULL, BARE_V
from pulldrop.model.part.switch_table import JoinedState, Progress, Say, SwitchTable
from pulldrop.model.raw import Line

LIVE_V, BARE_LIVE_V = 5.3, 4.95
"""The bench's own pull-ups stand at 5 V and 4 % at most; a bare board's converter ends at 5 V."""
AWAY_S, MOST_S = 45.0, 1200.0
"""Without coming to rest anew for so long nobody is there, or nothing rests; and the longest in all."""
AWAY = "nobody moved the switch any more; what is listed may not be all"
RESTLESS = "nothing came to rest: a loose lead, a capacitor or electronics inside, or no switch"
SLOW_BEGIN_S, SLOW_QUIET_S, SLOW_MOST_S = 15.0, 9.0, 150.0
"""The slow turn: until it begins, after its last movement, and in all."""


class Live(Exception):
    """A terminal has volts of its own; the message is a sentence for a person."""


Tell = Callable[[Progress], None]
Look = Callable[[Joints, JoinedState], None]


def refuse_live(board: Board, joints: Joints) -> None:
    """Raises Live for a terminal that something outside feeds."""
    bare = board.identity.build == "bare"
    for name, line in joints.lines.items():
        if line is Line.T30 and not bare:
            continue
        looked = board.scan(Scan(Line.NONE, Line.NONE, line)).look
        volts = looked * (BARE_V / BARE_FULL if bare else LOOK_V / FULL_SCALE)
        if volts > (BARE_LIVE_V if bare else LIVE_V):
            raise Live(
                f"terminal {name} has volts of its own: the switch is still on the vehicle, or on a battery. Nothing "
                "was driven. Unplug it, or take the battery off, and begin again."
            )


def learn(
    board: Board,
    terminals: Sequence[str],
    tell: Tell = lambda _: None,
    expected: int | None = None,
    look: Look = lambda *_: None,
) -> SwitchTable:
    """Learn the table of the switch on the board's lines; `terminals` in their order, `expected`: how many positions
    the person counted; `look`: called once while it rests on each, for further looks at what that joins. Raises Live,
    ValueError for too many terminals, and BoardError."""
    joints = Joints(board, terminals)
    refuse_live(board, joints)
    learner, trouble = Learner(), list[str]()
    began_s = arrived_s = board.elapsed()
    before = 0
    seen: tuple[int, JoinedState] | None = None
    while not (learner.complete and learner.settled):
        cycle = joints.cycle()
        said = learner.take(cycle)
        if said is None and learner.steady and (opened := joints.opened(cycle.state)):
            learner.take(opened)
        if seen is not None and learner.settled and learner.at == seen[0]:
            learner.see_back(seen[1])  # it was not moved meanwhile
        half = learner.half_seen
        if half is not None:
            look(joints, learner.places[half].state)
        seen = None if half is None else (half, joints.both_ways(learner.places[half].state))
        now_s = board.elapsed()
        if learner.arrivals != before:
            before, arrived_s = learner.arrivals, now_s
        if said is not None:
            tell(Progress(table(terminals, learner), learner.at, None if learner.complete else said))
        if now_s - arrived_s > AWAY_S or now_s - began_s > MOST_S:
            trouble.append(RESTLESS if learner.restless else AWAY)
            break
    passages = None if trouble else _slowly(board, joints, learner, tell, trouble)
    rested = sum(bool(one.visits) for one in learner.places)
    if expected is not None and expected != rested:
        trouble.append(f"{rested} positions were found, and {expected} were said: two may join the same")
    found = table(terminals, learner, passages, trouble)
    tell(Progress(found, learner.at, Say.DONE))
    return found


def _slowly(board: Board, joints: Joints, learner: Learner, tell: Tell, trouble: list[str]) -> Passages | None:
    """Watch single pairs while the person turns slowly; None where no passage can be recognised."""
    states = [one.state for one in learner.places if one.visits]
    pairs = watched(joints.terminals, states)
    if not tell_apart(pairs, states):
        return None
    passages = Passages(pairs, states)
    began_s = board.elapsed()
    tell(Progress(table(joints.terminals, learner), learner.at, Say.SLOWLY))
    while True:
        for pair in pairs:
            closed = joints.closed(*pair)
            passages.take(board.elapsed(), pair, closed)
        now_s = board.elapsed()
        if passages.moved_s is None:
            if now_s - began_s > SLOW_BEGIN_S:
                trouble.append("the switch was not turned slowly: make before break was not looked for")
                return passages
        elif now_s - passages.moved_s > SLOW_QUIET_S or now_s - began_s > SLOW_MOST_S:
            return passages
