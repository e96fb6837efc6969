"""Pin and converter of a throw that do not agree: once an armature may have moved between them, twice is a wire."""

import pytest

from pulldrop.board.errors import WireTrouble
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.raw import Contact
from pulldrop.plant.specimen import Specimen

BOTH = Contact.NO | Contact.NC


def checked(wrong: set[int], monkeypatch: pytest.MonkeyPatch) -> int:
    """Check the wiring twice, as a run does, while these looks at an open throw show it closed; how many there were."""
    with VirtualBoard(Specimen(title="invented: a sound relay"), 7) as board:
        rig, looks = Rig.uncalibrated(board), 0
        see = rig.contacts

        def seen(throws: Contact = BOTH) -> Contact:
            nonlocal looks
            found = see(throws)
            looks += throws != BOTH and not found & throws
            return found | throws if throws != BOTH and looks in wrong else found

        monkeypatch.setattr(rig, "contacts", seen)
        for _ in range(2):
            wiring.check(rig, 12.0)
        return looks


def test_a_pin_and_a_converter_that_disagree_once_are_looked_at_again(monkeypatch: pytest.MonkeyPatch) -> None:
    looks = checked(set(), monkeypatch)
    assert {checked({wrong}, monkeypatch) for wrong in range(1, looks + 1)} == {looks + 1}


def test_a_pin_that_is_wrong_every_second_time_is_the_trouble_of_its_wire(monkeypatch: pytest.MonkeyPatch) -> None:
    """A second look that agreed ended the matter each time, so that a loose wire went by."""
    with pytest.raises(WireTrouble, match="the wire of that pin touches another"):
        checked(set(range(1, 40, 2)), monkeypatch)
