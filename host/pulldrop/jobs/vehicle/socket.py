"""A relay's socket by the vehicle lead, step by step: what is clipped where, what each look showed, the verdict.

Rule: every look is in the log before the next is asked for. What a clip that fell off would have said is proved: a clip
that decides that a leg is dead, or that a ground is good, is put on the battery's plus and back before it counts.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from pulldrop.jobs.vehicle.boards import Hand
from pulldrop.jobs.vehicle.level import as_said, level, too_low
from pulldrop.jobs.vehicle.log import Log
from pulldrop.judge.socket.bulb import STANDS, coil_roles, decide_lead, ends
from pulldrop.measure.lead import LeadRig, LeadTrouble
from pulldrop.model.vehicle.answers import SocketAnswers
from pulldrop.model.vehicle.lead import CLIPS, Clip, Glow, LeadLooks, LeadPlace, LeadSeen, Spot
from pulldrop.model.vehicle.socket import SocketFound

GONE, RAN, SANK = 0.4, 1.08, 0.9
"""Battery volts of those at the levelling: below, it was taken off; above, the engine runs; between, something large or
the starter takes current."""
ENDS: tuple[Clip, Clip] = ("X3", "X4")
"""On 85 and 86."""
PROVES, AGREES = 0.9, 0.1
"""A clip on plus shows so much of X1; back in its place it shows what it did, to this share of the battery."""


class NotAsSaid(Exception):
    """The vehicle is not as the answers have it, or changed meanwhile; the message is a sentence for a person."""


@dataclass
class SocketCheck:
    """One socket. `tell`: a line for the person between the steps; `lit`: circuits to turn on for the ground."""

    rig: LeadRig
    hand: Hand
    answers: SocketAnswers
    log: Log
    tell: Callable[[str], None]
    lit: tuple[str, ...] = ()
    battery: float = 0.0
    _place: LeadPlace = field(default_factory=lambda: LeadPlace(says=""))
    _clips: dict[str, Spot] = field(default_factory=dict)

    def run(self) -> SocketFound:
        """All steps. Raises LeadTrouble and NotAsSaid with a sentence, BoardError, LogTrouble."""
        self.log.write(answers=self.answers.model_dump())
        self.battery = level(self.rig, self.hand, self.tell)
        for wrong in (as_said(self.battery, self.answers.system_v), too_low(self.battery, self.answers.system_v)):
            if wrong:
                raise NotAsSaid(wrong)
        fed = self._contact()
        rest, worked = self._coil_open(fed)
        bulb, glow = self._bulb(fed)
        series = self._series(fed) if bulb.shares[0].value > STANDS else None
        coil_rest, coil_worked, ground = self._coil(fed, rest, worked)
        looks = LeadLooks(
            open_rest=rest, open_worked=worked, fed=fed, bulb=bulb, bulb_glow=glow, series=series, coil_rest=coil_rest,
            coil_worked=coil_worked, grounded=ground, lit={name: self._with(name) for name in self.lit},
        )  # fmt: skip
        found = decide_lead(looks, self.answers.system_v)
        self.log.write(found=found.model_dump())
        return found

    # --- the steps ---

    def _contact(self) -> Literal["30", "87"]:
        """Which of 30 and 87 has the feed, relay out; a relay that is still in carries it to the other one."""
        self._do(
            "Pull the relay out of its socket. Control at rest.", {"X1": "plus", "X2": "30", "X3": "87", "X4": "86"}
        )
        rest = self._look("30 and 87 at rest")
        self._do("Hold the control as it should work the relay.", worked=True)
        worked = self._look("30 and 87 worked")
        at_30, at_87 = worked.shares[0].value, worked.shares[1].value
        follows = at_87 - rest.shares[1].value > STANDS and abs(at_87 - at_30) < AGREES
        if follows:
            raise NotAsSaid(
                "87 comes up with the control, as a relay in its socket makes it. Pull the relay out and begin"
                " again; if it is out, another wire feeds the load: find that first."
            )
        if at_30 < STANDS and rest.shares[0].value < STANDS:
            self._prove("X2", "30 worked")
        return "87" if at_87 > max(at_30, STANDS) else "30"

    def _coil_open(self, fed: Spot) -> tuple[LeadSeen, LeadSeen]:
        """85 and 86 without the relay, at rest and worked."""
        self._do("Relay still out. Control at rest.", {"X2": fed, "X3": "85", "X4": "86"})
        rest = self._look("85 and 86 at rest")
        self._do("Hold the control as it should work the relay.", worked=True)
        worked = self._look("85 and 86 worked")
        if max(ends(worked).at_85, ends(worked).at_86) < STANDS:
            for clip in ENDS:
                worked = self._prove(clip, "85 and 86 worked")
        return rest, worked

    def _bulb(self, fed: Spot) -> tuple[LeadSeen, Glow | None]:
        """The feed with the bulb on it."""
        glow = self._do(f"Now the bulb from cavity {fed} to the battery's minus.", worked=True, bulb=(fed, "minus"))
        seen = self._look("feed under the bulb")
        if seen.shares[0].value < STANDS:
            seen = self._prove("X2", "feed under the bulb")
        return seen, glow

    def _series(self, fed: Spot) -> LeadSeen:
        """The load behind the bulb."""
        other: Spot = "87" if fed == "30" else "30"
        self._do(
            "The bulb between 30 and 87: it lets the load have 5 W.", {"X3": other}, worked=True, bulb=(fed, other)
        )
        return self._look("load behind the bulb")

    def _coil(
        self, fed: Spot, open_rest: LeadSeen, open_worked: LeadSeen
    ) -> tuple[LeadSeen, LeadSeen, Literal["85", "86"]]:
        """The relay in, its coil the load of trigger and ground; and which of 85 and 86 goes to ground."""
        self._do(
            "Bulb off. Put the relay back in; reach its cavities from behind the socket. Control at rest.",
            {"X2": fed, "X3": "85", "X4": "86"}, relay=True,
        )  # fmt: skip
        rest = self._look("coil at rest")
        trigger, low_side, _, _ = coil_roles(open_rest, open_worked, rest)
        ground: Literal["85", "86"] = "86" if (trigger == "85") is not low_side else "85"
        says = "Hold the control as it should work the relay; white X5 beside the clip that is there."
        self._do(says, {"X5": ground}, worked=True, relay=True)
        worked = self._look("coil worked", ground=True)
        before = ends(worked)
        for clip in ENDS:
            worked = self._prove(clip, "coil worked", ground=True)
        if abs(ends(worked).at_85 - before.at_85) + abs(ends(worked).at_86 - before.at_86) > 2 * AGREES:
            self.tell("85 and 86 read otherwise than before: a clip had slipped. What counts was read after it.")
        return rest, worked, ground

    def _with(self, name: str) -> LeadSeen:
        """The coil's look again with another circuit on."""
        self._do(f"Turn on {name} as well.", worked=True, relay=True, lit=name)
        return self._look(f"coil worked, {name} on")

    # --- their parts ---

    def _do(
        self,
        says: str,
        clips: dict[str, Spot] | None = None,
        worked: bool = False,
        relay: bool = False,
        bulb: tuple[Spot, Spot] | None = None,
        lit: str = "",
    ) -> Glow | None:
        """Ask for it, and keep what was answered about the bulb."""
        self._clips |= clips or {}
        self._place = LeadPlace(says=says, clips=clips or {}, worked=worked, relay=relay, bulb=bulb, lit=lit)
        return self.hand(self._place)

    def _look(self, what: str, ground: bool = False) -> LeadSeen:
        """One look with the battery as it was. Raises NotAsSaid, LeadTrouble."""
        seen = self.rig.look(ground)
        self.log.write(look=what, seen=seen.model_dump())
        volts, before = seen.battery.value, self.battery
        told = f"{before:.1f} to {volts:.1f} V"
        if volts < GONE * before:
            raise LeadTrouble(f"The battery went from {told}: it was taken off, or X1 or X6 fell off. Begin again.")
        if volts > RAN * before:
            raise NotAsSaid(f"The battery rose from {told}: the engine runs. Stop it and begin again.")
        if volts < SANK * before:
            raise NotAsSaid(
                f"The battery sank from {told}: the starter or another large load is on. Turn it off and begin again."
            )
        return seen

    def _prove(self, clip: Clip, what: str, ground: bool = False) -> LeadSeen:
        """The clip on the battery's plus, and back: a look with it. Raises LeadTrouble where it does not read plus."""
        kept, spot = self._place, self._clips[clip]
        self._do(f"To prove {clip}: put it on the battery's plus.", {clip: "plus"}, kept.worked, kept.relay, kept.bulb)
        if self._look(f"{clip} on plus").shares[CLIPS.index(clip)].value < PROVES:
            raise LeadTrouble(
                f"{clip} does not read the battery's plus: its clip or its wire is off. Mend it, begin again."
            )
        self._do(f"{clip} back on cavity {spot}.", {clip: spot}, kept.worked, kept.relay, kept.bulb)
        return self._look(f"{what}, {clip} proved", ground)
