"""What holds the coil's spike is known by how far it flies."""

from dataclasses import replace

import pytest
from calibrated import calibrate_virtual

from pulldrop.board.errors import WireTrouble
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.steps.coil.flyback import procedure
from pulldrop.model.measurement import Clamped
from pulldrop.model.reading import Finding, Reading
from pulldrop.model.steps.coil.flyback import FlybackStep
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan


def found(seed: int, **suppression: object) -> dict[str, Finding]:
    specimen = Specimen.model_validate({"title": "invented", "suppression": suppression})
    with VirtualBoard(specimen, seed) as board:
        rig = PartOnRig(board, calibrate_virtual(seed), plan("relay-diagnose", "class-mini-12v-form-c"))
        step = FlybackStep(measure="flyback", coil="13.5 V", makes=3)
        return {one.id: one for one in procedure(rig, step)}


@pytest.mark.parametrize("seed", range(1, 6))
@pytest.mark.parametrize(
    ("kind", "held"), [("none", "bench"), ("resistor", "bench"), ("diode", "diode"), ("diode_zener", "zener")]
)
def test_the_clamp_is_named_on_every_bench(kind: str, held: str, seed: int) -> None:
    named = found(seed, kind=kind)["flyback_class"]
    assert isinstance(named, Reading)
    assert named.state == Clamped(held)


def test_a_zener_s_volts_are_inside_the_stated_uncertainty_and_a_bare_coil_gives_a_bound() -> None:
    zener, bare = (found(3, kind=kind)["flyback_peak"] for kind in ("diode_zener", "none"))
    assert isinstance(zener, Reading) and isinstance(bare, Reading)
    assert zener.value == pytest.approx(24 + 0.7 + 0.14 * 5.6, abs=zener.expanded_uncertainty)
    assert bare.bound == ">"


def test_a_bench_without_its_clamp_is_no_bench() -> None:
    """Q3 then breaks down at 100 V; the spike of a bare coil was told as held by the bench."""
    specimen = Specimen(title="invented")
    with VirtualBoard(specimen, 1) as board:
        front = board.plant.frontend
        board.plant.frontend = replace(front, harness=replace(front.harness, tvs_v=100.0))
        board.insert(specimen)
        rig = PartOnRig(board, calibrate_virtual(1), plan("relay-diagnose", "class-mini-12v-form-c"))
        with pytest.raises(WireTrouble, match="D12 holds it at 68 V"):
            list(procedure(rig, FlybackStep(measure="flyback", coil="13.5 V", makes=3)))
        assert not board.status().on
