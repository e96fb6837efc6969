"""Start and strike of the armature, read from the coil current alone, are those of the virtual relay."""

import math

import pytest
from calibrated import calibrate_virtual

from pulldrop.board.request_types import Drive
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.judge.diagnosis.evidence.clue import Motion
from pulldrop.judge.diagnosis.evidence.clues import clues
from pulldrop.measure.rig.counts.dip import moved
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.steps.coil.motion import DIVIDER, WINDOW_MS, procedure
from pulldrop.model.raw import Capture
from pulldrop.model.reading import NotTested, Reading
from pulldrop.model.steps.coil.motion import MotionStep
from pulldrop.plant.relay.relay import RelayModel
from pulldrop.plant.specimen import Specimen, parts
from pulldrop.protocol.load import plan

SPECIMENS = {
    "changeover": {"base": "mini_12v_changeover"},
    "normally open": {"base": "mini_12v_normally_open"},
    "micro": {"base": "micro_12v_changeover"},
    "welded": {"faults": {"welded": "contact_no"}},
}


def true_motion(specimen: Specimen, volts: float) -> tuple[float, float]:
    """When the armature leaves its rest, and its first turn near the core."""
    relay = RelayModel(parts(specimen), 23.0)
    relay.drive(volts, False, False)
    relay.advance(0.05)
    began = relay.t
    relay.drive(volts, True, False)
    start, seat, near = 0.0, 0.0, 0.98 * relay.mechanics.travel
    while relay.t < began + 0.02 and not seat:
        relay.advance(relay.t + 20e-6)
        start = start or (relay.t - began if relay.s > 1e-6 else 0.0)
        seat = relay.t - began if relay.s >= near else 0.0
    return start, seat


def capture(specimen: Specimen, code: int, seed: int | None = 4) -> object:
    with VirtualBoard(specimen, seed) as board:
        board.wait(0.05)
        return moved(board.step_coil(Drive(dac=code, on=True, on_ms=1000), WINDOW_MS, DIVIDER))


@pytest.mark.parametrize("given", SPECIMENS.values(), ids=SPECIMENS)
def test_start_and_strike_are_found_without_a_contact(given: dict[str, object]) -> None:
    specimen = Specimen.model_validate({"title": "invented", "temperature_c": 23.0, **given})
    start, seat = true_motion(specimen, 13.5)
    found = capture(specimen, round(13.5 * 4096 / 30), None)
    assert found is not None
    assert found.start_s == pytest.approx(start, abs=0.45e-3)
    assert found.seat_s == pytest.approx(seat, abs=0.45e-3)


class WithoutDip(VirtualBoard):
    """The coil's current rises along one exponential, whatever the armature does."""

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        made = super().step_coil(drive, window_ms, divider, low_side)
        end = made.samples[-1]
        smooth = tuple(round(end * (1 - math.exp(-place / 30))) for place in range(len(made.samples)))
        return made.model_copy(update={"samples": smooth})


@pytest.mark.parametrize(("stuck", "shown"), [("free", False), ("at rest", True)])
def test_no_dip_says_nothing_of_an_armature_whose_contacts_operate(stuck: str, shown: bool) -> None:
    specimen = Specimen.model_validate({"title": "invented", "faults": {"stuck": stuck}})
    with WithoutDip(specimen, 4) as board:
        at = plan("relay-diagnose", "class-mini-12v-form-c")
        rig = PartOnRig(board, calibrate_virtual(4), at)
        found = list(procedure(rig, MotionStep(measure="motion", coil="13.5 V", makes=3)))
    assert [one.id for one in found] == ["armature_start_time", "armature_seat_time"]
    if shown:
        assert all(isinstance(one, Reading) and one.bound == ">" for one in found)
        assert clues(at, found)["motion"].state is Motion.RESTS
    else:
        assert all(isinstance(one, NotTested) and "no dip" in one.reason for one in found)
        assert not clues(at, found)


@pytest.mark.parametrize("stuck", ["at rest", "operated"])
def test_a_stuck_armature_shows_no_dip(stuck: str) -> None:
    specimen = Specimen.model_validate({"title": "invented", "faults": {"stuck": stuck}})
    assert capture(specimen, 1843) is None


def test_a_resistor_alone_shows_no_dip() -> None:
    given = {"title": "invented", "faults": {"coil_open": True}, "suppression": {"kind": "resistor"}}
    assert capture(Specimen.model_validate(given), 1843) is None
