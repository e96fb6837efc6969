"""Thin metal shows as a drop that climbs from pulse to pulse, hardened iron as a drop-out that overdrive lowers."""

from typing import Any

import pytest
from calibrated import calibrate_virtual

from pulldrop.board.errors import Refused
from pulldrop.board.request_types import Pulse
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import StepStarted, perform
from pulldrop.model.raw import PulseCounts
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.coil.overdrive import OverdriveStep
from pulldrop.model.steps.coil.thresholds import ThresholdsStep
from pulldrop.model.steps.contacts.rise import RiseStep
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

SEED = 3


def found(steps: tuple[type, ...], board_of: type[VirtualBoard] = VirtualBoard, **part: Any) -> dict[str, Finding]:
    """What these steps of the diagnosis give for a part, by what differs from a sound 12 V changeover relay."""
    at = plan("relay-diagnose", "class-mini-12v-form-c")
    at = at.model_copy(update={"steps": tuple(s for s in at.steps if isinstance(s, (CoilStep, *steps)))})
    specimen = Specimen.model_validate({"title": "a part", "temperature_c": 23.0} | part)
    with board_of(specimen, SEED) as board:
        made = [one for one in perform(at, board, calibrate_virtual(SEED)) if not isinstance(one, StepStarted)]
    return {one.id: one for one in made}


def number(findings: dict[str, Finding], id: str) -> float:
    one = findings[id]
    assert isinstance(one, Reading) and one.bound == "=" and one.value is not None
    return one.value


def test_the_drop_of_a_sound_contact_hardly_climbs() -> None:
    assert 0 < number(found((RiseStep,)), "contact_climb_no") < 2


def test_the_drop_of_thin_metal_climbs_with_every_pulse() -> None:
    thin = found((RiseStep,), contact_no={"bulk_mohm": 5, "heating_k_per_w": 160, "heating_s": 3})["contact_climb_no"]
    assert isinstance(thin, Reading) and thin.value is not None
    assert thin.value > 5
    assert list(thin.makes) == sorted(thin.makes)


def test_of_a_contact_that_carries_nothing_no_climb_is_told() -> None:
    dead = found((RiseStep,), contact_no={"film_ohm": 25, "film_breaks_v": 30.0})["contact_climb_no"]
    assert isinstance(dead, NotTested) and "less than half" in dead.reason


def test_a_burnt_contact_is_read_in_a_wider_range() -> None:
    burnt = found((RiseStep,), contact_no={"crust_mohm": 80})["contact_climb_no"]
    assert isinstance(burnt, Reading)
    assert all(raw.gain < 5 for raw in burnt.raw)  # type: ignore[union-attr]  # pulses


class Sparing(VirtualBoard):
    """Allows six load pulses in ten seconds, as many as one series has; three were made before it."""

    pulses_s: tuple[float, ...] = (-8.0, -5.0, -2.0)

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        now = self.elapsed()
        if not pulse.branches:
            return super().load_pulse(pulse)
        if sum(now - one < 10.0 for one in self.pulses_s) >= 6:
            raise Refused("duty", "The load would be on for too long (invented).")
        self.pulses_s += (now,)
        return super().load_pulse(pulse)


def test_a_series_that_the_board_refuses_midway_comes_to_its_end_once_the_load_has_rested() -> None:
    read = found((RiseStep,), Sparing, contact_no={"bulk_mohm": 24.0, "pitting_mohm": 0.4})
    assert 1 < number(read, "contact_climb_no") < 5


def test_more_load_than_the_board_gives_without_a_rest_is_refused_before_anything_runs() -> None:
    with pytest.raises(ValueError, match=r"10 pulses of 100 ms are more load .* of 38 ms at most"):
        RiseStep.model_validate({"measure": "rise", "coil": "12 V", "load": "10 A", "pulses": 10, "pulse": "100 ms"})


@pytest.mark.parametrize(("residual_a", "low", "high"), [(0.0, 0.97, 1.03), (25.0, 0.3, 0.93)])
def test_overdrive_lowers_the_drop_out_of_magnetised_iron_alone(residual_a: float, low: float, high: float) -> None:
    read = found((ThresholdsStep, OverdriveStep), coil={"residual_mmf_a": residual_a})
    assert low < number(read, "drop_out_overdriven") / number(read, "drop_out_voltage") < high


def test_a_part_that_never_lets_go_is_not_overdriven() -> None:
    held = found((OverdriveStep,), coil={"residual_mmf_a": 90})["drop_out_overdriven"]
    assert isinstance(held, NotTested) and "30-87 is closed" in held.reason


def test_a_part_that_lets_go_slowly_near_zero_gets_its_number_and_not_a_bound() -> None:
    assert 0.5 < number(found((ThresholdsStep,), coil={"residual_mmf_a": 38.0}), "drop_out_voltage") < 1.0
