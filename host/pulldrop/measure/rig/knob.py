"""The knob of the coil's volts and its switch S4, as the bench sees them at 86: nobody has to press a key.

Rule: S4 is touched with the coil's switch open and K1 closed, so that 86 shows what S4 has chosen; a person who walks
away ends it, and is told why.
"""

from collections.abc import Callable
from dataclasses import replace

from pulldrop.board.errors import WrongSupply
from pulldrop.measure.rig.load_supply import volts as battery_v
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.raw import Contact
from pulldrop.model.run.hand import KNOB_DONE, KNOB_IN, KNOB_OUT, Request

WAITS_S, SURE_S = 60.0, 0.5
"""How long nothing may change while S4 is to be switched, and how long it must read as it should."""
ON_MS, SETTLES_S, LOOKS_S = 2000, 0.05, 0.1
"""K1 closed for so long from each look; what its contact and the converter take; from look to look."""
LEFT_V = 0.5
"""At the knob's left end 86 reads less, with the coil's switch open (hardware/evening/README.md: 0.1 V at most)."""
SUPPLY_LESS_V = 0.5
"""By what a battery may read less than when S4 was last at 'supply'."""
MOVED_V = 0.2
"""A change beyond which somebody is there."""
FOLLOWER_LESS_V, BATTERY_SHARE = 3.0, 0.92
"""What diode, fuse, transistor and coil take of the battery at the knob's right end at most, and by what A6 reads too
much at most, by its 5 V (model/bench/abilities.py)."""
S4_LEFT = "S4 is still at 'knob', so the coil gets no volts. Set it to 'supply', then test the part again."


class Knob:
    """One knob during one step. `most_v`: of its scale; `right_v`: it reads more at its right end."""

    def __init__(self, rig: PartOnRig) -> None:
        assert rig.hand is not None
        self._rig, self._hand = rig, rig.hand
        self.most_v = battery_v(rig.board)
        self.right_v = BATTERY_SHARE * self.most_v - FOLLOWER_LESS_V
        self._supply_v = 0.0
        """The most that 86 has read at 'supply'."""

    def ask(self, request: Request) -> None:
        """Say what to do next. CannotTest where it is left out."""
        if not self._hand(request):
            raise CannotTest("the knob was left out", because="left out")

    def at(self, volts: float, wrong: str = "") -> None:
        """Show where it stands, and what is wrong. CannotTest where it is left out."""
        self.ask(self._at(volts, wrong))

    def _at(self, volts: float, wrong: str) -> Request:
        return Request(wrong, turn="at", volts=volts, most_v=self.most_v)

    def switch_in(self) -> None:
        """S4 to the knob, which stands at 0 V. CannotTest where nobody does it."""
        self.ask(KNOB_IN)
        if not self._becomes(lambda volts: volts < LEFT_V, self._not_in, self.at):
            raise CannotTest(
                f"S4 was not set to 'knob', with the knob at its left end, within {WAITS_S:g} s. For pull-in and"
                " drop-out test again, and do what the screen asks",
                because="left out",
            )

    def switch_back(self) -> None:
        """S4 back to the supply, unless 86 shows that it is there. Raises WrongSupply where nobody does it."""
        self._rig.off()
        if not self._there(self._look()):
            self._hand(KNOB_OUT)
            if not self._becomes(self._there, self._not_out, lambda *at: self._hand(self._at(*at))):
                raise WrongSupply(S4_LEFT)

    def done(self) -> None:
        """Whatever became of it, nothing more is asked."""
        self._hand(KNOB_DONE)

    def _becomes(
        self, met: Callable[[float], bool], wrong: Callable[[float], str], show: Callable[[float, str], object]
    ) -> bool:
        """Whether 86 comes to read so, and stays for a moment."""
        elapsed = self._rig.board.elapsed
        volts = self._look()
        seen_v, changed_s, met_s = volts, elapsed(), elapsed()
        while elapsed() - changed_s < WAITS_S:
            if not met(volts):
                met_s = elapsed()
            elif elapsed() - met_s >= SURE_S:
                return True
            if abs(volts - seen_v) > MOVED_V:
                seen_v, changed_s = volts, elapsed()
            show(volts, wrong(volts))
            self._rig.wait(LOOKS_S)
            volts = self._look()
        return False

    def _look(self) -> float:
        """Volts at 86, K1 closed and the coil's switch open; no throw is fed."""
        drive = self._rig.drive(self._rig.nominal_v, ON_MS, on=False)
        self._rig.hold(replace(drive, dry=Contact.NONE), SETTLES_S)
        volts = self._rig.supply_v(self._rig.board.sense_coil().bus)
        self._rig.must_be_supplied()
        if not self._supply_v:
            self._supply_v = max(volts, self._rig.volts_at(drive.dac))
            self.most_v = max(self.most_v, volts)
        return volts

    def _there(self, volts: float) -> bool:
        return volts > self._supply_v - SUPPLY_LESS_V

    def _not_in(self, volts: float) -> str:
        if volts < LEFT_V:
            return ""
        if self._there(volts):
            return f"86 reads {volts:.1f} V: S4 is still at 'supply'."
        return f"86 reads {volts:.1f} V: turn the knob further to the left."

    def _not_out(self, volts: float) -> str:
        return "" if self._there(volts) else f"86 reads {volts:.1f} V: S4 is still at 'knob'."
