"""What is in the socket, by a few milliamps: whether a part is there, all of it, and still the same one.

Rule: nothing is energised for a look.
"""

from dataclasses import dataclass

from pulldrop.board.request_types import Scan
from pulldrop.measure.rig.counts.channels import sunk_a
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.part.relay import FORMS, NC, Form
from pulldrop.model.raw import Contact, Line, ScanCounts

SETTLE_S = 0.01
JOINED_A = 50e-6
"""Less than this into the sink is what the bench's own pull-ups give (the self-test's bound for an empty socket)."""
ALIKE = 0.05
"""A coil of 24 V lets a sixth less through than one of 12 V; a warm one less than a hundredth less."""
UNMOVED = 8e-4
"""Of the amps, between two looks at one coil that sits still: 1.5 ohm of 87, which is two looks' expanded uncertainty
(measure/rig/scan_read.py). Noise makes a fifth of it (standard, virtual and emulated boards)."""


@dataclass(frozen=True, slots=True)
class Look:
    """Throws closed at rest, and amps that the coil lets through at a few volts, 0 for none."""

    closed: Contact
    coil_a: float

    @classmethod
    def nothing(cls) -> "Look":
        """An empty socket."""
        return cls(Contact.NONE, 0.0)

    @property
    def empty(self) -> bool:
        """Nothing conducts: no part, or one that is open everywhere."""
        return not self.closed and not self.coil_a

    def whole(self, form: Form | None) -> bool:
        """Everything that a part in order joins is seen, and nothing that a part of this form has not; without a form
        a fuse or a lamp."""
        if form is None:
            return self.closed == Contact.NO and not self.coil_a
        return bool(self.coil_a) and (NC in FORMS[form].at("rest").closed) == bool(self.closed & Contact.NC)

    def unmoved(self, before: "Look") -> bool:
        """The same joints, and a coil of the same ohms as far as a look can tell."""
        if (self.closed, bool(self.coil_a)) != (before.closed, bool(before.coil_a)):
            return False
        return abs(self.coil_a - before.coil_a) <= UNMOVED * max(self.coil_a, before.coil_a)

    def same_part(self, before: "Look") -> bool:
        """False when this cannot be the part of that earlier look: nothing is there, or another coil."""
        if self.empty:
            return before.empty
        if self.coil_a and before.coil_a:
            return abs(self.coil_a - before.coil_a) <= ALIKE * max(self.coil_a, before.coil_a)
        return True


def look(rig: Rig) -> Look:
    """One look, everything off afterwards."""
    rig.hold(rig.drive(0.0, on=False), SETTLE_S)
    closed = rig.board.status().contacts  # restless or not: a hand may be on the part
    counts = rig.board.scan(Scan(Line.T86, Line.T85))
    if not _sunk_a(counts):
        counts = rig.board.scan(Scan(Line.T85, Line.T86))  # a diode in series, or across an open coil
    return Look(closed, _sunk_a(counts))


def _sunk_a(counts: ScanCounts) -> float:
    amps = sunk_a(counts)
    return amps if amps > JOINED_A else 0.0
