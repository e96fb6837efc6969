"""What another instrument captured of a part reads as the bench reads that part itself, or is refused with a reason."""

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import product

import pytest
from waves import PART, wave

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import StepStarted, perform
from pulldrop.measure.waveform import Told, told
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.part.relay import FORMS
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.steps.coil.motion import MotionStep
from pulldrop.protocol.load import plan
from pulldrop.text.waveform import Waveform

C = FORMS["C"]


def by_id(found: Told) -> dict[str, Finding]:
    return {one.id: one for one in found.findings}


@cache
def on_the_bench() -> dict[str, Finding]:
    """The same part on the bench, coil, motion and timing at nominal volts."""
    at = plan("relay-diagnose", "class-mini-12v-form-c")
    steps = [one for one in at.steps if one.measure in ("coil", "motion", "timing")]
    steps = [one.model_copy(update={"coil": 12.0}) if isinstance(one, MotionStep) else one for one in steps]
    with VirtualBoard(PART, None) as board:
        found = perform(at.model_copy(update={"steps": tuple(steps)}), board, nominal(0))
        return {one.id: one for one in found if not isinstance(one, StepStarted)}


CONTACTS = ("operate_time", "release_time", "bounce_time_no", "bounce_time_nc", "transfer_time")


@pytest.mark.parametrize(
    ("id", "every_s"),
    [*product(CONTACTS, (2e-6, 10e-6, 20e-6)), *product(MotionStep.gives, (2e-6, 20e-6, 100e-6, 190e-6))],
)
def test_a_capture_reads_as_the_bench_does_within_both_uncertainties(id: str, every_s: float) -> None:
    found, own = by_id(told(C, 12.0, wave(True, every_s), wave(False, every_s)))[id], on_the_bench()[id]
    assert isinstance(found, Reading) and isinstance(own, Reading)
    assert found.number == pytest.approx(own.number, abs=found.expanded_uncertainty + own.expanded_uncertainty)


def test_coarser_rows_leave_a_time_less_certain() -> None:
    fine, coarse = (by_id(told(C, 12.0, wave(True, every), None))["bounce_time_no"] for every in (2e-6, 20e-6))
    assert isinstance(fine, Reading) and isinstance(coarse, Reading)
    assert coarse.standard_uncertainty > 2 * fine.standard_uncertainty


def test_rows_that_may_miss_a_touch_tell_no_time_of_a_contact() -> None:
    """With one every 0.1 ms the first touch of NC was missed, and its bounce read a sixth short."""
    found = by_id(told(C, 12.0, wave(True, 100e-6), wave(False, 100e-6)))
    for id in ("operate_time", "release_time"):
        one = found[id]
        assert isinstance(one, NotTested) and "rows are 100 us apart" in one.reason
    assert isinstance(found["armature_seat_time"], Reading)


def test_the_early_current_is_told_as_a_share_of_its_end() -> None:
    assert told(C, 12.0, wave(True), None).early_share == pytest.approx(0.16, abs=0.02)


def test_noise_and_an_offset_of_a_probe_change_no_answer() -> None:
    chance, clean = random.Random(5), wave(True)
    assert clean.amps is not None
    noisy = replace(clean, amps=tuple(a + 0.02 + chance.gauss(0, 2e-3) for a in clean.amps))
    for id in MotionStep.gives:
        one, other = (by_id(told(C, 12.0, each, None))[id] for each in (clean, noisy))
        assert isinstance(one, Reading) and isinstance(other, Reading)
        assert other.number == pytest.approx(one.number, abs=0.3e-3)


def cut(made: Waveform, seconds: float) -> Waveform:
    last = sum(at <= seconds for at in made.seconds)
    return replace(
        made, seconds=made.seconds[:last], amps=(made.amps or ())[:last], no=(made.no or ())[:last],
        nc=(made.nc or ())[:last],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("change", "id", "reason"),
    [
        (lambda one: replace(one, nc=None), "operate_time", "the file has no column 'nc'"),
        (lambda one: cut(one, 8e-3), "armature_start_time", "ends before the coil's current has come to its end"),
        (lambda one: replace(one, amps=tuple(-a for a in one.amps)), "armature_seat_time", "the other way round"),
    ],
)
def test_what_cannot_be_told_is_not_tested_with_its_reason(
    change: Callable[[Waveform], Waveform], id: str, reason: str
) -> None:
    found = by_id(told(C, 12.0, change(wave(True)), None))[id]
    assert isinstance(found, NotTested) and reason in found.reason


def test_a_current_without_a_dip_hides_the_armature_where_the_contacts_operate() -> None:
    made = wave(True)
    smooth = tuple(0.13 * (1 - 2.718 ** (-max(at, 0.0) / 2e-3)) for at in made.seconds)
    hidden = by_id(told(C, 12.0, replace(made, amps=smooth), None))["armature_start_time"]
    assert isinstance(hidden, NotTested) and hidden.because == "not shown"
    still = replace(made, amps=smooth, no=(False,) * len(smooth), nc=(True,) * len(smooth))
    found = by_id(told(C, 12.0, still, None))
    for id in ("armature_start_time", "operate_time"):
        one = found[id]
        assert isinstance(one, Reading) and (one.bound, one.value) == (">", 0.03)


def test_a_release_without_coil_current_is_enough() -> None:
    found = by_id(told(C, 12.0, wave(True), replace(wave(False), amps=None)))
    assert isinstance(found["release_time"], Reading)


def test_a_part_without_nc_is_read_by_its_no_alone() -> None:
    one, other = replace(wave(True), nc=None), replace(wave(False), nc=None)
    found = by_id(told(FORMS["A"], 12.0, one, other))
    assert {"operate_time", "release_time", "bounce_time_no"} <= {id for id in found if isinstance(found[id], Reading)}
    assert "transfer_time" not in found
