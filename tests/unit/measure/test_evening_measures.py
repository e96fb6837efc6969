"""What is measured on an evening build: as on the full bench where it can be, and said so where it cannot."""

from collections.abc import Callable

import pytest

from pulldrop.board.contract import Board
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import virtual_hand
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.judge import judge_finding
from pulldrop.judge.verdict import verdict
from pulldrop.measure.perform import StepStarted, perform
from pulldrop.model.bench.abilities import OF_BUILD
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.run.hand import Hand, Request
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Overall, Verdict
from pulldrop.plant.bench.evening import Turn
from pulldrop.plant.specimen import Specimen

SEED = 5
SOUND = "good-12v-changeover"
ABLE = OF_BUILD["evening"]


def specimen(name: str) -> Specimen:
    return specimens.find(name).specimen


def planned(name: str, protocol: str = "relay-quick") -> Plan:
    return plan_for_specimen(specimen(name), False, protocol)


def found_on(board: Board, plan: Plan, hand: Hand | None) -> dict[str, Finding]:
    at = plan.fitted(board.identity.able, hand is not None)
    calibration = nominal(SEED, board.identity.build)
    made = perform(at, board, calibration, hand=hand)
    return {one.id: one for one in made if not isinstance(one, StepStarted)}


def evening(name: str, protocol: str = "relay-quick") -> dict[str, Finding]:
    board = EveningBoard(specimen(name), SEED)
    return found_on(board, planned(name, protocol), virtual_hand(board.exchange_leads, board.plant))


def verdict_of(plan: Plan, found: dict[str, Finding]) -> Verdict:
    return verdict(plan, [judge_finding(plan, one) for one in found.values()], "complete")


@pytest.fixture(scope="module")
def sound() -> dict[str, Finding]:
    return evening(SOUND)


def test_a_sound_part_reads_as_on_the_full_bench(sound: dict[str, Finding]) -> None:
    """Two benches with errors of their own: their uncertainties together hold the difference."""
    plan = planned(SOUND).fitted(ABLE, True)
    full = found_on(VirtualBoard(specimen(SOUND), SEED), plan, None)
    assert set(full) == set(sound)
    for id, one in full.items():
        other = sound[id]
        assert isinstance(one, Reading) and isinstance(other, Reading), id
        if one.value is None:
            assert one.state == other.state
            continue
        assert other.value is not None and one.bound == other.bound == "="
        room = one.expanded_uncertainty + other.expanded_uncertainty
        assert abs(one.value - other.value) <= room, f"{id}: {one.value} and {other.value}, {room} allowed"


def test_what_turned_the_coil_by_hand_is_in_the_conditions(sound: dict[str, Finding]) -> None:
    for id in ("pull_in_voltage", "drop_out_voltage"):
        found = sound[id]
        assert isinstance(found, Reading)
        shown = {one.name: one.text for one in found.conditions}
        assert "knob" in shown["by hand"] and "V/s" in shown["rate"]
        assert {"creep", "armature", "uneven turning"} <= {term.name for term in found.budget}
        assert found.raw and len(found.makes) >= 2


def test_a_pass_names_what_this_build_cannot_do(sound: dict[str, Finding]) -> None:
    plan = planned(SOUND).fitted(ABLE, True)
    told = verdict_of(plan, sound)
    assert told.overall is Overall.PASS
    assert "insulation between terminals (this build looks at no pair of terminals but 86 and 85)" in told.next
    assert "coil when hot (this build cannot set the coil's volts)" in told.next


def test_without_a_hand_the_thresholds_are_left_out_and_a_pass_says_so() -> None:
    plan = planned(SOUND).fitted(ABLE, False)
    assert "pull_in_voltage" not in plan.wanted and "drop_out_voltage" not in plan.limits
    told = verdict_of(plan, found_on(EveningBoard(specimen(SOUND), SEED), planned(SOUND), None))
    assert told.overall is Overall.PASS
    assert "pull-in and drop-out (this build has its coil volts turned by hand" in told.next


def test_what_is_beyond_this_build_is_left_out_of_a_diagnosis_with_its_reason() -> None:
    left = planned(SOUND, "relay-diagnose").fitted(ABLE, True).left_out
    assert set(left) == {"leakage", "probe", "motion", "sticking", "rise", "overdrive"}
    assert left["sticking"] == "this build loads with 10 A at most"
    assert left["leakage"] == "this build looks at no pair of terminals but 86 and 85"


def test_a_full_bench_leaves_nothing_out() -> None:
    plan = planned(SOUND, "relay-diagnose")
    assert plan.fitted(OF_BUILD["full"], False) == plan


def test_a_24_v_part_is_not_energised_and_the_reason_is_said() -> None:
    name = "good-24v-changeover"
    board = EveningBoard(specimen(name), SEED)
    found = found_on(board, planned(name), virtual_hand(board.exchange_leads, board.plant))
    assert all(isinstance(one, NotTested) and one.because == "beyond bench" for one in found.values())
    assert board.elapsed() < 0.1
    told = verdict_of(planned(name).fitted(ABLE, True), found)
    assert told.overall is Overall.INCOMPLETE and "12 V, and this one is of 24 V" in told.found


@pytest.mark.parametrize("name", ["shorted-coil", "reversed-diode"])
def test_a_short_and_a_diode_the_wrong_way_round_get_a_few_ma_and_no_more(name: str) -> None:
    board = EveningBoard(specimen(name), SEED)
    volts: list[float] = []
    drive = board.plant.drive

    def noted(pins: object) -> None:
        drive(pins)  # type: ignore[arg-type]
        volts.append(board.plant.coil_supply_v if board.plant.pins.coil else 0.0)

    board.plant.drive = noted  # type: ignore[method-assign,assignment]
    found = found_on(board, planned(name), virtual_hand(board.exchange_leads, board.plant))
    assert 0 < max(volts) < 1.0
    coil = found["coil_resistance_20c"]
    assert isinstance(coil, Reading) and coil.bound == "<"
    assert verdict_of(planned(name).fitted(ABLE, True), found).overall is Overall.FAIL


def test_an_open_coil_fails_as_on_the_full_bench() -> None:
    found = evening("open-coil")
    coil = found["coil_resistance_20c"]
    assert isinstance(coil, Reading) and coil.bound == ">"


@pytest.mark.parametrize("name", ["burnt-no", "weak-spring", "good-12v-micro", "good-with-diode"])
def test_its_verdict_is_that_of_the_full_bench(name: str) -> None:
    full = verdict_of(planned(name), found_on(VirtualBoard(specimen(name), SEED), planned(name), None))
    here = verdict_of(planned(name).fitted(ABLE, True), evening(name))
    assert here.overall is full.overall


@pytest.mark.parametrize(
    ("name", "kind"), [("good-with-diode", "diode"), ("good-with-zener", "zener"), (SOUND, "bench")]
)
def test_what_clamps_the_coil_shows_though_5_v_of_usb_are_not_5_v(name: str, kind: str) -> None:
    from pulldrop.model.measurement import Clamped

    plan = planned(name, "relay-diagnose")
    steps = tuple(step for step in plan.steps if step.measure in ("coil", "flyback"))
    board = EveningBoard(specimen(name), SEED)
    found = found_on(board, plan.model_copy(update={"steps": steps}), None)["flyback_class"]
    assert isinstance(found, Reading) and found.state is Clamped[kind.upper()]


# --- hands that do not do as asked ---


def turned_by(turn: Callable[[EveningBoard, Request], bool]) -> dict[str, Finding]:
    board = EveningBoard(specimen(SOUND), SEED)
    plan = planned(SOUND)
    steps = tuple(step for step in plan.steps if step.measure in ("coil", "thresholds"))
    return found_on(board, plan.model_copy(update={"steps": steps}), lambda request: turn(board, request))


def test_a_hand_that_leaves_it_out_is_said() -> None:
    found = turned_by(lambda _board, _request: False)["pull_in_voltage"]
    assert isinstance(found, NotTested) and found.because == "left out"


def test_a_knob_that_nobody_turns_is_waited_for_and_then_left_out() -> None:
    def idle(board: EveningBoard, request: Request) -> bool:
        if request.turn == "in":
            board.plant.set_knob(0.0)
        return True

    found = turned_by(idle)["pull_in_voltage"]
    assert isinstance(found, NotTested) and "was not turned" in found.reason


def test_a_hand_that_is_too_fast_gives_no_threshold() -> None:
    def fast(board: EveningBoard, request: Request) -> bool:
        plant = board.plant
        if request.turn in ("in", "out"):
            plant.set_knob(0.0 if request.turn == "in" else None)
        if request.turn in ("up", "down"):
            plant._knob = Turn(plant._knob_v, 15.0 if request.turn == "up" else 0.0, plant.time_s + 0.4, 6.0, ())
        return True

    found = turned_by(fast)["pull_in_voltage"]
    assert isinstance(found, NotTested) and "too fast" in found.reason


def test_the_coil_goes_back_to_its_supply_and_everything_is_off_after_the_knob() -> None:
    board = EveningBoard(specimen(SOUND), SEED)
    asked: list[str | None] = []
    do = virtual_hand(board.exchange_leads, board.plant)

    def noted(request: Request) -> bool:
        asked.append(request.turn)
        if request.turn in ("in", "out"):
            assert not board.status().on
        return do(request)

    found_on(board, planned(SOUND), noted)
    assert asked[0] == "in" and asked[-1] == "out" and board.plant._knob is None
    assert board.plant.made_by_relay == 0
