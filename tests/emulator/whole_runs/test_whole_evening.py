"""A whole quick test on the emulated evening build: the compiled firmware, its main relay, its one load."""

import pytest

from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import open_socket
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.judge.decide import judge_finding
from pulldrop.judge.verdict import verdict
from pulldrop.measure.perform import StepStarted, perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.reading import Finding
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Overall
from pulldrop.plant.bench.evening import EveningBench

SEED = 5
WITHIN = ("coil_resistance", "operate_time", "release_time", "contact_drop_no", "contact_drop_nc")


def run_of(choice: str, name: str) -> tuple[Plan, dict[str, Finding]]:
    thing = specimens.find(name)
    with open_socket(choice, thing, SEED) as opened:
        board = opened.board
        plan = plan_for_specimen(thing.specimen, False, "relay-quick").fitted(board.identity.able, False)
        calibration = nominal(board.identity.serial, board.identity.build)
        found = {one.id: one for one in perform(plan, board, calibration) if not isinstance(one, StepStarted)}
        assert isinstance(opened.knob, EveningBench) and opened.knob.made_by_relay == 0
    return plan, found


@pytest.mark.parametrize(("name", "word"), [("good-12v-changeover", Overall.PASS), ("burnt-no", Overall.FAIL)])
def test_the_emulated_evening_build_says_what_the_virtual_one_does(name: str, word: Overall) -> None:
    plan, emulated = run_of("emulated-evening", name)
    _, virtual = run_of("virtual-evening", name)
    assert verdict(plan, [judge_finding(plan, one) for one in emulated.values()], "complete").overall is word
    assert set(emulated) == set(virtual)
    for id in WITHIN if word is Overall.PASS else ():
        one, other = emulated[id], virtual[id]
        assert abs(one.value - other.value) <= one.expanded_uncertainty + other.expanded_uncertainty, id  # type: ignore[union-attr, operator]


@pytest.mark.parametrize("name", ["shorted-coil", "reversed-diode"])
def test_what_the_look_finds_is_never_fed_by_the_main_relay(name: str) -> None:
    plan, found = run_of("emulated-evening", name)
    assert verdict(plan, [judge_finding(plan, one) for one in found.values()], "complete").overall is Overall.FAIL
