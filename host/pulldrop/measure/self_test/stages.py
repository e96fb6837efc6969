"""The stages in which a full bench is built: which lines of the self-test each adds, which one stands, what comes next.

Rule: a stage stands when its own lines, and those of the stages before it, are well. What no line shows is not claimed:
the load shows with its battery alone, and the vehicle side to a hand with a meter.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pulldrop.measure.self_test.check import Check

TITLE = "stage"


@dataclass(frozen=True, slots=True)
class Stage:
    """`name`: as in the guide's table (hardware/guide.md); `adds`: what is built in it; `shows`: how the lines of the
    self-test begin that show it."""

    name: str
    adds: str
    shows: tuple[str, ...]


STAGES = (
    Stage("bare board", "Nano, stop, temperature", ("emergency stop", "bench temperature")),
    Stage("contact", "socket, U7 with ADDR at gnd, U3, dry sources, edges", ("contact socket", "contact converter")),
    Stage("scan", "U10 to U14, their lines, K3 and K4", ("terminals", "scan lines")),
    Stage("coil", "U1, Q1, U4 to U6, Q3 with D12", ("coil socket", "coil supply", "coil current zero")),
    Stage("load", "K1, branches, pulse limit, and its battery last", ("load supply",)),
    Stage("vehicle", "inputs, dummy coil, stand-in", ()),
)
LAST = len(STAGES)
LOADED = 5
"""The last stage that the firmware sees."""
UNSEEN = "The vehicle side is not in this check: 12.0 V on each of its inputs gives 1.33 V at m1 to m4"

GROWS = "stages 3 and 4 of hardware/guide.md in one go, its battery off; see the end of hardware/evening/README.md"


def at(title: str) -> int:
    """The stage whose line this is."""
    return next((number for number, one in enumerate(STAGES, 1) if title.startswith(one.shows)), 1)


def standing(made: Sequence[Check], asked: int) -> Check:
    """The last line of a full bench's self-test: up to which of its stages it is well. `asked`: what is built."""
    seen = min(asked, LOADED)
    stands = next((number for number in range(seen) if _lacking(STAGES[number], made)), seen)
    found = f"{_called(stands)} stands" if stands else "none stands"
    if stands < seen:
        found += f", {_called(stands + 1)} does not: {', '.join(_lacking(STAGES[stands], made))}"
    elif stands < LAST:
        found += f". Next, {_called(stands + 1)}: {STAGES[stands].adds}"
    if asked == LAST and stands == seen:
        found += f". {UNSEEN}"
    return Check(title=TITLE, expected=f"{_called(asked)}, as built", found=found, state=_state(stands == seen))


def evening(made: Sequence[Check]) -> Check:
    """That of an evening build, which is a stage beside these."""
    well = all(one.state in ("ok", "noted") for one in made)
    found = f"{'it stands' if well else 'it does not stand yet'}. Next, towards the full bench: {GROWS}"
    return Check(title=TITLE, expected="the evening build", found=found, state=_state(well))


def _state(stands: bool) -> Literal["ok", "noted"]:
    """What does not stand is wrong in its own lines already."""
    return "ok" if stands else "noted"


def _called(number: int) -> str:
    return f"stage {number} ({STAGES[number - 1].name})"


def _lacking(stage: Stage, made: Sequence[Check]) -> tuple[str, ...]:
    """What of a stage's lines is not well, or was not made."""
    lines = {first: [one for one in made if one.title.startswith(first)] for first in stage.shows}
    return tuple(first for first, ones in lines.items() if not ones or any(one.state != "ok" for one in ones))
