"""Statements about the first make of a run: what sticks or insulates after years of rest does so once."""

from contextlib import suppress
from typing import Any

import pytest

from pulldrop.board.errors import Refused
from pulldrop.board.request_types import Branch, Drive, Pulse
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.judge import judge_finding
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import Capture, Contact, PulseCounts
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.verdict import Outcome
from pulldrop.plant import stock
from pulldrop.plant.relay.suppression import NOMINAL
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

PURPOSES = ("full", "quick", "diagnose")
LATER = ("operate_time", "bounce_time_no", "contact_drop_no", "contact_drop_nc", "pull_in_voltage_20c")


class Watched(VirtualBoard):
    """Notes, in order, every change of the coil to more than a volt and every pulse under load."""

    def __init__(self, specimen: Specimen, seed: int | None = 7) -> None:
        super().__init__(specimen, seed)
        self.done: list[str] = []

    def hold_coil(self, drive: Drive) -> None:
        if drive.on and drive.dac * 7.3e-3 > 1.5:
            self.done.append("held")
        super().hold_coil(drive)

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        self.done.append("on, recorded" if drive.on else "off, recorded")
        return super().step_coil(drive, window_ms, divider, low_side)

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        if pulse.branches:
            self.done.append(f"{pulse.throw.name} loaded")
        return super().load_pulse(pulse)


def run(specimen: Specimen, purpose: str, seed: int | None = 7) -> tuple[dict[str, Finding], list[str], float]:
    at = plan(f"relay-{purpose}", "class-mini-12v-form-c")
    with Watched(specimen, seed) as board:
        found = [one for one in perform(at, board, nominal(0)) if not isinstance(one, StepStarted)]
        return {one.id: one for one in found}, board.done, board.elapsed()


def in_stock(name: str) -> Specimen:
    return fit(parse(stock.text(name), name), Specimen)


def good(**physics: Any) -> Specimen:
    return Specimen.model_validate({"title": "invented", **physics})


def said(found: Finding, name: str) -> str:
    assert isinstance(found, Reading)
    return next(one.text for one in found.conditions if one.name == name)


@pytest.mark.parametrize("purpose", PURPOSES)
def test_the_first_energisation_is_a_recorded_make_and_nothing_was_loaded_but_what_closes_at_rest(purpose: str) -> None:
    found, done, _ = run(good(), purpose)
    assert done[:3] == ["NC loaded", "on, recorded", "NO loaded"], done[:6]
    first, later = found["first_operate_time"], found["operate_time"]
    assert isinstance(first, Reading) and isinstance(later, Reading)
    assert first.raw and first.budget and first.conditions and first.makes
    assert later.number < first.number < 1.3 * later.number, "at 12 V it is slower than at 13.5 V"
    assert said(later, "first make") == f"{1000 * first.number:.2f} ms"
    for id in ("first_drop_no", "first_drop_nc"):
        drop, makes = found[id], found[id.replace("first", "contact")]
        assert isinstance(drop, Reading) and isinstance(makes, Reading)
        assert drop.raw and drop.budget and abs(drop.number - makes.number) < drop.expanded_uncertainty + 1e-3
        assert said(makes, "first make") == f"{1000 * drop.number:.2f} mV"


@pytest.mark.parametrize("purpose", PURPOSES)
def test_it_costs_less_than_three_tenths_of_a_second(purpose: str) -> None:
    began = []
    at = plan(f"relay-{purpose}", "class-mini-12v-form-c")
    with VirtualBoard(good(), 7) as board:
        for one in perform(at, board, nominal(0)):
            if isinstance(one, Reading) and one.id in ("contact_rest", "coil_resistance"):
                began.append(board.elapsed())
    assert began[1] - began[0] < 0.3 + 0.37, "the coil step took 0.37 s without it"


@pytest.mark.parametrize("purpose", ("full", "quick", "diagnose"))
def test_a_part_that_sticks_once_after_its_rest_fails_by_its_first_make_alone(purpose: str) -> None:
    at = plan(f"relay-{purpose}", "class-mini-12v-form-c")
    found, _, _ = run(in_stock("sticks-after-rest"), purpose)
    first = found["first_operate_time"]
    assert isinstance(first, Reading) and first.bound == ">" and first.number == 0.03 and first.raw
    assert judge_finding(at, first).outcome is Outcome.FAIL
    assert "did not move" in said(first, "armature")
    assert {judge_finding(at, found[id]).outcome for id in LATER if id in at.limits} == {Outcome.PASS}
    assert said(found["operate_time"], "first make") == "more than 30.00 ms"


@pytest.mark.parametrize("purpose", ("full", "quick", "diagnose"))
def test_a_film_that_the_first_touch_rubs_off_is_told_from_an_armature_that_sticks(purpose: str) -> None:
    at = plan(f"relay-{purpose}", "class-mini-12v-form-c")
    found, _, _ = run(in_stock("insulates-after-rest"), purpose)
    first, drop = found["first_operate_time"], found["first_drop_no"]
    assert judge_finding(at, first).outcome is Outcome.FAIL
    assert "a contact insulates" in said(first, "armature")
    assert isinstance(drop, NotTested) and "open" in drop.reason
    assert {judge_finding(at, found[id]).outcome for id in LATER if id in at.limits} == {Outcome.PASS}


@pytest.mark.parametrize("throw", ("no", "nc"))
@pytest.mark.parametrize("purpose", PURPOSES)
def test_a_skin_that_the_first_load_meets_and_no_later_one_fails_by_that_load(purpose: str, throw: str) -> None:
    at = plan(f"relay-{purpose}", "class-mini-12v-form-c")
    skin = {"film_ohm": 0.5, "film_breaks_v": 30.0, "film_rubs_off": True}
    found, _, _ = run(good(**{f"contact_{throw}": skin}), purpose)
    failed = [id for id, one in found.items() if judge_finding(at, one).outcome is Outcome.FAIL]
    assert failed == [f"first_drop_{throw}"]


@pytest.mark.parametrize("form", ("A", "C"))
def test_the_first_load_is_that_of_the_first_make_however_much_was_loaded_before(form: str) -> None:
    """The board allows a second of load in ten: one that wanted rest now would let the coil go, and make it again."""
    at = plan("relay-quick", f"class-mini-12v-form-{form.lower()}")
    skin = {"film_ohm": 0.5, "film_breaks_v": 30.0, "film_rubs_off": True}
    for left_ms in (80, 120):
        with Watched(good(form=form, contact_no=skin)) as board:
            with suppress(Refused):
                while True:
                    board.load_pulse(Pulse(Contact.NO, Branch.A10, 4, 1, left_ms))
                    board.wait(0.05)
            found = {one.id: one for one in perform(at, board, nominal(0)) if not isinstance(one, StepStarted)}
        first, ohm = found["first_drop_no"], found["coil_resistance"]
        whole, _, _ = run(good(form=form), "quick")
        calm = whole["coil_resistance"]
        assert judge_finding(at, first).outcome is Outcome.FAIL, first
        assert isinstance(ohm, Reading) and isinstance(calm, Reading)
        assert abs(ohm.number / calm.number - 1) < 1.5e-3, "the coil that stayed on meanwhile is no warmer for it"


def test_a_film_that_only_the_load_breaks_is_still_seen_dry_in_the_very_first_make() -> None:
    found, done, _ = run(in_stock("long-unused"), "diagnose")
    before, after = found["contact_before_load_no"], found["contact_after_load_no"]
    assert isinstance(before, Reading) and isinstance(after, Reading)
    assert before.number > 2.5 and after.number < 0.1
    assert done[:3] == ["NC loaded", "on, recorded", "NO loaded"]


def test_without_a_load_in_the_protocol_the_first_make_stays_dry() -> None:
    at = plan("relay-soak", "class-mini-12v-form-c")
    assert "first_operate_time" in at.wanted and "first_drop_no" not in at.wanted


def test_a_second_run_of_the_same_part_shows_a_good_first_make() -> None:
    at = plan("relay-quick", "class-mini-12v-form-c")
    with VirtualBoard(in_stock("sticks-after-rest"), 7) as board:
        for wanted in (Outcome.FAIL, Outcome.PASS):
            found = {one.id: one for one in perform(at, board, nominal(0)) if not isinstance(one, StepStarted)}
            assert judge_finding(at, found["first_operate_time"]).outcome is wanted


def test_a_gummed_armature_comes_loose_after_its_time_however_the_advance_is_split() -> None:
    def moments(steps: int) -> list[float]:
        relay = good(faults={"gummed_s": 0.05}).relay(23.0, None, NOMINAL)
        relay.drive(12.0, True, False)
        changes = [one for n in range(1, steps + 1) for one in relay.advance(0.1 * n / steps)]
        return [at for at, throw, closed in changes if throw == 0 and closed][:1]

    whole, split = moments(1), moments(7)
    assert len(whole) == 1 and 0.05 < whole[0] < 0.07 and abs(whole[0] - split[0]) < 1e-5


def test_the_widest_range_is_used_for_a_first_load_and_once() -> None:
    _, done, _ = run(good(contact_no={"crust_mohm": 100.0, "pitting_scatter": 0.0}), "quick")
    assert done[:4] == ["NC loaded", "on, recorded", "NO loaded", "on, recorded"]
