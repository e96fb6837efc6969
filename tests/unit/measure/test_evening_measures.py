"""What is measured on an evening build: as on the full bench where it can be, and said so where it cannot."""

from collections.abc import Callable

import pytest

from pulldrop.board.contract import Board
from pulldrop.board.errors import WrongSupply
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import virtual_hand
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.judge import judge_finding
from pulldrop.judge.diagnosis import diagnose
from pulldrop.judge.diagnosis.evidence.clues import clues
from pulldrop.judge.verdict import verdict
from pulldrop.measure.perform import StepStarted, perform
from pulldrop.model.bench.abilities import OF_BUILD
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.run.hand import KNOB_SLOWER, Hand, Request
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
    assert set(left) == {"leakage", "probe", "sticking", "rise", "overdrive"}
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


NAMED = {
    "shorted-coil": "coil_shorted", "reversed-diode": "diode_reversed", "welded-no": "welded_no",
    "welded-nc": "welded_nc", "stuck-operated": "stuck_operated",
}  # fmt: skip


@pytest.mark.parametrize("name", NAMED)
def test_the_true_cause_comes_first(name: str) -> None:
    """A short and a diode by the volts at a few mA; a weld and a stuck armature by the dip of the coil's current."""
    plan = planned(name, "relay-diagnose")
    steps = tuple(step for step in plan.steps if step.measure in ("coil", "motion", "timing"))
    plan = plan.model_copy(update={"steps": steps})
    found = found_on(EveningBoard(specimen(name), SEED), plan, None)
    assert [one.id for one in diagnose(plan, found.values()).faults][:1] == [NAMED[name]]


def test_a_coil_of_too_few_ohms_for_the_supply_is_read_and_gets_a_few_ma_alone() -> None:
    coil = {"shorted_turns_percent": 62.0}
    part = Specimen.model_validate(specimen(SOUND).model_dump() | {"faults": coil})
    found = found_on(EveningBoard(part, SEED), planned(SOUND), None)["coil_resistance"]
    assert isinstance(found, Reading) and found.bound == "=" and found.value is not None and 25 < found.value < 40


@pytest.mark.parametrize("seed", [3, 8, 9, 11])
def test_a_hot_make_compares_with_dry_ones_whatever_the_supply_gives(seed: int) -> None:
    """Without the volts brought to nominal, an NC that opens late on a low battery would count as one that tacks."""
    plan = planned(SOUND, "relay-diagnose")
    steps = tuple(step for step in plan.steps if step.measure in ("coil", "timing", "hot"))
    plan = plan.model_copy(update={"steps": steps})
    made = perform(plan, EveningBoard(specimen(SOUND), seed), nominal(seed, "evening"))
    hot = clues(plan, [one for one in made if not isinstance(one, StepStarted)])
    for key in ("after_hot", "after_hot_nc"):
        assert hot[key].value is not None and 0.97 < hot[key].value < 1.04, key


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


def turned_by(turn: Callable[[EveningBoard, Request], bool], asked: list[Request] | None = None) -> dict[str, Finding]:
    board = EveningBoard(specimen(SOUND), SEED)
    plan = planned(SOUND)
    steps = tuple(step for step in plan.steps if step.measure in ("coil", "thresholds"))

    def noted(request: Request) -> bool:
        if asked is not None:
            asked.append(request)
        return turn(board, request)

    found = found_on(board, plan.model_copy(update={"steps": steps}), noted)
    assert not board.status().on
    return found


def set_by(board: EveningBoard, request: Request) -> bool:
    """S4 alone is switched as asked."""
    if request.turn in ("in", "out"):
        board.plant.set_knob(0.0 if request.turn == "in" else None)
    return True


def told(asked: list[Request]) -> str:
    return " ".join(one.text for one in asked)


def test_a_hand_that_leaves_it_out_is_said() -> None:
    found = turned_by(lambda board, request: set_by(board, request) and request.turn != "up")["pull_in_voltage"]
    assert isinstance(found, NotTested) and found.because == "left out"


def test_a_knob_that_nobody_turns_is_asked_for_again_and_then_left_out() -> None:
    asked: list[Request] = []
    found = turned_by(set_by, asked)["pull_in_voltage"]
    assert isinstance(found, NotTested) and "stood at 0.0 V for 30 s" in found.reason and "test again" in found.reason
    assert "It stands at 0.0 V. Turn it to the right." in told(asked)


def test_who_walks_away_half_way_up_makes_no_reading() -> None:
    asked: list[Request] = []

    def half(board: EveningBoard, request: Request) -> bool:
        if request.turn == "up":
            board.plant.turn_knob(4.0)
        return set_by(board, request)

    found = turned_by(half, asked)["pull_in_voltage"]
    assert isinstance(found, NotTested) and "stood at 4.0 V" in found.reason and found.because == "left out"
    assert "It stands at 4.0 V. Turn it on to the right." in told(asked)


def test_a_switch_that_stays_at_the_supply_is_asked_for_again_and_nothing_is_turned() -> None:
    asked: list[Request] = []
    found = turned_by(lambda _board, _request: True, asked)["pull_in_voltage"]
    assert isinstance(found, NotTested) and "S4 was not set to 'knob'" in found.reason
    assert "S4 is still at 'supply'" in told(asked) and {one.turn for one in asked} == {"in", "at", "done"}


def test_a_knob_that_is_not_at_its_left_end_is_asked_for() -> None:
    asked: list[Request] = []

    def high(board: EveningBoard, request: Request) -> bool:
        if request.turn == "in":
            board.plant.set_knob(3.0)
        return request.turn == "out" and set_by(board, request)

    def late(board: EveningBoard, request: Request) -> bool:
        if "further to the left" in request.text:
            board.plant.set_knob(0.0)
        return high(board, request) or request.turn in ("in", "at")

    found = turned_by(late, asked)["pull_in_voltage"]
    assert isinstance(found, NotTested) and found.because == "left out"
    assert "86 reads 3.0 V: turn the knob further to the left." in told(asked)
    assert [one.turn for one in asked if one.turn != "at"] == ["in", "up", "out", "done"]


def test_a_switch_that_is_left_at_the_knob_is_trouble_of_the_bench_and_no_reading_of_the_part() -> None:
    asked: list[Request] = []

    def forgets(board: EveningBoard, request: Request) -> bool:
        plant = board.plant
        if request.turn in ("up", "down"):
            plant._knob = Turn(plant._knob_v, 15.0 if request.turn == "up" else 0.0, plant.time_s + 0.2, 2.5, ())
        return request.turn == "out" or set_by(board, request)

    with pytest.raises(WrongSupply, match=r"S4 is still at 'knob'.*Set it to 'supply', then test the part again"):
        turned_by(forgets, asked)
    assert "86 reads 0.0 V: S4 is still at 'knob'." in told(asked) and asked[-1].turn == "done"


@pytest.mark.parametrize("volts", [0.0, 5.0])
def test_a_test_that_begins_with_the_coil_at_the_knob_says_where_to_look(volts: float) -> None:
    board = EveningBoard(specimen(SOUND), SEED)
    board.plant.set_knob(volts)
    with pytest.raises(WrongSupply, match=rf"86 reads {volts} V.* Set the switch S4 to 'supply'"):
        found_on(board, planned(SOUND), None)


def test_a_hand_that_is_too_fast_is_asked_again_at_once_and_gives_no_threshold() -> None:
    asked: list[Request] = []

    def fast(board: EveningBoard, request: Request) -> bool:
        plant = board.plant
        if request.turn in ("up", "down"):
            plant._knob = Turn(plant._knob_v, 15.0 if request.turn == "up" else 0.0, plant.time_s + 0.4, 6.0, ())
        return set_by(board, request)

    found = turned_by(fast, asked)["pull_in_voltage"]
    assert isinstance(found, NotTested) and "too fast" in found.reason
    turns = [one.turn for one in asked if one.turn != "at"]
    assert turns[:6] == ["in", "up", "on", "slower", "down", "on"] and KNOB_SLOWER in asked


def test_nobody_needs_a_key_and_everything_is_off_and_back_on_the_supply_after_the_knob() -> None:
    board = EveningBoard(specimen(SOUND), SEED)
    asked: list[Request] = []
    do = virtual_hand(board.exchange_leads, board.plant)

    def noted(request: Request) -> bool:
        asked.append(request)
        if request.turn in ("in", "out"):
            assert not board.plant.pins.coil, "nobody switches S4 under current"
        return do(request)

    found_on(board, planned(SOUND), noted)
    assert [one.turn for one in asked if one.turn != "at"] == ["in", *["up", "on", "down", "on"] * 2, "out", "done"]
    assert board.plant._knob is None and board.plant.made_by_relay == 0
    assert {"(Turn 1 of 2.)", "(Turn 2 of 2.)"} <= {one.text[-15:].strip() for one in asked if one.turn == "up"}
