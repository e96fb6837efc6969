"""A switch's table while a person turns it, and the ohms of its worst joint; see `measure/positions`."""

from collections.abc import Iterator

from pulldrop.measure.positions.joints import CLOSED_OHM, Joints
from pulldrop.measure.positions.learn import Live, learn
from pulldrop.measure.rig.counts.budget import nominal_value, rectangular
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.paths import Path, path
from pulldrop.measure.rig.readings import reading, state
from pulldrop.measure.rig.rig import CannotTest, PartStops
from pulldrop.measure.rig.scan_read import Eyes
from pulldrop.model.part.kinds.switch import SwitchRating
from pulldrop.model.part.switch_table import JoinedState, Progress
from pulldrop.model.raw import Line
from pulldrop.model.reading import Finding
from pulldrop.model.run.hand import Request
from pulldrop.model.steps.looks.positions import PositionsStep

LEADS_OHM = 0.1
"""Of two leads of 0.5 m with their clips, at most (assumed)."""


def procedure(rig: PartOnRig, _step: PositionsStep) -> Iterator[Finding]:
    """The table, and what its joints read at a few mA."""
    hand, rating = rig.hand, rig.plan.rating
    assert isinstance(rating, SwitchRating)
    if hand is None:
        raise CannotTest("nobody stands by who moves the switch", because="left out")
    eyes, read = Eyes(rig.board), dict[str, Path]()

    def look(joints: Joints, at: JoinedState) -> None:
        for group in at.groups:
            for other in group[1:]:
                found, name = _ohms(eyes, joints.lines[group[0]], joints.lines[other]), f"{group[0]}-{other}"
                if _is_joint(found) and (name not in read or nominal_value(found.ohm) > nominal_value(read[name].ohm)):
                    read[name] = found

    def tell(progress: Progress) -> None:
        hand(Request("", learning=progress))

    try:
        table = learn(rig.board, rating.order, tell, rating.count, look)
    except Live as live:
        raise PartStops(str(live)) from live
    except ValueError as error:
        raise CannotTest(str(error), because="beyond bench") from error
    shown = rig.conditions(method="terminal scan, a few mA, turned by hand")
    yield state("switch_table", table, shown)
    if not read:
        raise CannotTest("no pair stayed joined for long enough to read its ohms", because="not shown")
    name, worst = max(read.items(), key=lambda one: nominal_value(one[1].ohm))
    ohm = worst.ohm + rectangular(LEADS_OHM, "leads", "two leads and their clips, 0.1 ohm at most")
    each = [nominal_value(one.ohm) for one in read.values()]
    yield reading("joint_most", ohm, rig.conditions(pair=name, method="terminal scan"), worst.counts, each)


def _ohms(eyes: Eyes, a: Line, b: Line) -> Path:
    """From one line to another; on a full build 30 is ground, and takes no source."""
    if a is Line.T30 and not eyes.bare:
        a, b = b, a
    lit = eyes.look(a, b)
    if eyes.bare:
        return path(lit.across_v, (lit.source_a + lit.sink_a) / 2, lit)
    return path(lit.across_v, lit.source_a if b is Line.T30 else lit.sink_a, lit)


def _is_joint(found: Path) -> bool:
    """Whether the pair stayed joined while it was looked at."""
    return found.ohm is not None and nominal_value(found.ohm) <= CLOSED_OHM
