"""A rig with a part in it during one run: what its steps have found out so far, and what that allows.

Rule: volts here are the coil's own; once its ohms are known, the drop below it is allowed for.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from pulldrop.board.contract import Board
from pulldrop.board.request_types import CURRENT_LIMIT_MAX
from pulldrop.measure.rig.counts.copper import INFERRED_ZERO_C, REFERENCE_C, winding_k
from pulldrop.measure.rig.pairs import contact_state, happened
from pulldrop.measure.rig.rig import CannotTest, PartStops, Rig
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.relay import FORMS, RelayForm
from pulldrop.model.raw import Contact
from pulldrop.model.reading import Condition
from pulldrop.model.run.hand import Hand
from pulldrop.model.run.plan import Plan
from pulldrop.model.step import COIL_MOST_A

SUPPLY_SHARE = 0.95
"""Nearer to the supply's current limit its volts sag, and the board's own limit trips."""
OPEN_COIL_A = 0.0003
"""Below this at nominal voltage a coil counts as open: 12 V over 0.3 mA is 40 kohm."""
SENSE_S = 0.01
"""What the board takes to sense the coil."""
SAME_COIL = 0.01
"""By which share a coil's amps may change from one hold to the next, seconds later: its warmth takes 0.05 % (virtual
parts), and what is left of the armature's move some more. Two parts of a type differ by several percent."""

Enough = Callable[[str, Sequence[float]], bool]
"""Whether the single values of a measurement, by its id, tell enough: then no further make is made."""


class PartOnRig(Rig):
    """`enough`, `hand`, `cold_ohm`, `rested_s`: see `perform`. What is known of the part comes from its steps: `rest`,
    the throws closed with the coil off; `at_nominal`, those closed at nominal volts, None when it was not held there;
    `coil_ohm`, a plain number to set volts and limits by; `coil_ohm_bench`, the same with its budget at the temperature
    of the bench, and `pull_in_amps`, from which readings are made; `first_loads`: the FirstLoad of each throw that had
    one in its first make; `first_make`: what that make gave, by the id of the reading of later makes that shows it.
    """

    def __init__(
        self,
        board: Board,
        calibration: Calibration,
        plan: Plan,
        enough: Enough | None = None,
        hand: Hand | None = None,
        cold_ohm: float | None = None,
        rested_s: float | None = None,
    ) -> None:
        super().__init__(board, calibration)
        self.plan, self.hand, self.cold_ohm, self._enough = plan, hand, cold_ohm, enough
        self._took_a: dict[float, float] = {}
        self.coil_ohm: float | None = None
        self.coil_ohm_bench: Any = None
        self.pull_in_amps: Any = None
        self._winding_k = winding_k(rested_s)
        self.rest: Contact = Contact.NONE
        self.first_loads: dict[Contact, Any] = {}
        self.first_make: dict[str, Condition] = {}
        self.at_nominal: Contact | None = None
        self.read_temperature()

    def told_enough(self, makes: Mapping[str, Sequence[float]]) -> bool:
        """Whether every one of these measurements has makes enough; never, unless somebody says what is enough."""
        return self._enough is not None and all(self._enough(id, values) for id, values in makes.items())

    def first(self, id: str) -> tuple[Condition, ...]:
        """What the first make gave, as a condition of what later ones do."""
        return (self.first_make[id],) if id in self.first_make else ()

    @property
    def form(self) -> RelayForm:
        """The part's contact form."""
        return FORMS[self.plan.relay.form]

    def state(self, closed: Contact) -> ContactState:
        """The part's pairs with these throws closed."""
        return contact_state(self.form, closed)

    @property
    def nominal_v(self) -> float:
        """The rating's nominal coil voltage."""
        return self.plan.relay.nominal

    @property
    def strongest_v(self) -> float:
        """Highest volts that this run puts on the coil: the plan's, or nominal where the supply cannot give those."""
        return self.nominal_v if self._beyond(self.plan.strongest_v) else self.plan.strongest_v

    def winding_share(self) -> Any:
        """Zero, with the share of its ohms by which the winding may be off those at the temperature of the bench."""
        celsius = REFERENCE_C if self.temperature_c is None else self.temperature_c
        return self._winding_k / (INFERRED_ZERO_C + celsius)

    def ohm(self) -> Any:
        """Coil resistance at the temperature of the bench; CannotTest before the coil step has measured it."""
        if self.coil_ohm_bench is None:
            raise CannotTest("the coil's resistance is not known: the protocol needs a coil step first")
        return self.coil_ohm_bench

    def dac_for(self, volts: float) -> int:
        """DAC code that puts `volts` across the coil, with the drop below the coil allowed for."""
        amps = volts / self.coil_ohm if self.coil_ohm else 0.0
        return super().dac_for(volts + amps * self.calibration.low_side_ohm)

    def volts_at(self, dac: int) -> float:
        """Coil volts that a DAC code gives."""
        supply_v, ohm = super().volts_at(dac), self.coil_ohm
        return supply_v * ohm / (ohm + self.calibration.low_side_ohm) if ohm else supply_v

    def trip_limit(self, volts: float) -> int:
        """Over-current limit in ADC counts for `volts`: twice what the coil should take, and a little.

        Never less than for the nominal voltage: coming down from there, the current lags for several ms.
        """
        return self.limit_for(2.0 * max(volts, self.nominal_v) / self.coil_ohm) if self.coil_ohm else CURRENT_LIMIT_MAX

    def refuse_beyond(self, volts: float) -> None:
        """CannotTest when the coil would take more than the supply of the bench can give."""
        if self.coil_ohm and self._beyond(volts):
            raise CannotTest(
                f"beyond this bench: at {volts:g} V the coil would take {volts / self.coil_ohm * 1000:.0f} mA;"
                f" the supply gives {COIL_MOST_A * 1000:.0f} mA at most",
                because="beyond bench",
            )

    def _beyond(self, coil_v: float) -> bool:
        """Whether the coil would take more than the supply of the bench can give."""
        return bool(self.coil_ohm) and coil_v / (self.coil_ohm or 1.0) > COIL_MOST_A * SUPPLY_SHARE

    def magnetise(self, coil_v: float, seconds: float) -> None:
        """Hold `coil_v` for `seconds`, and see at their end whether it is still the same coil. PartStops if not.

        One that takes nothing is left to the contacts to tell: it may have opened.
        """
        self.energise(coil_v, seconds - SENSE_S)
        amps = self.board.sense_coil().shunt * self.calibration.coil_shunt.gain
        before = self._took_a.get(coil_v, amps)
        if amps < before / 2:
            return
        self._took_a[coil_v] = amps
        if not math.isclose(amps, before, rel_tol=SAME_COIL):
            raise PartStops(
                f"not the part that was here: its coil took {before * 1000:.1f} mA at {coil_v:g} V,"
                f" and now {amps * 1000:.1f} mA",
                because="other part",
            )

    def must_rest(self, closed: Contact) -> None:
        """CannotTest unless these throws, closed with the coil off, are those of a part at rest."""
        operates = self.form.operates
        if happened(operates, closed):
            why = "welded, held, or the socket is bridged" if operates.closes else "held, or it carries nothing"
            raise CannotTest(f"{operates.pair} is {operates.after} with the coil off ({why})")
