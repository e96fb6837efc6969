"""What a part went through before a run changes no reading of it, and another part in its place is noticed."""

from collections.abc import Iterator
from typing import Any

import pytest
from calibrated import calibrate_virtual
from crates import GOOD, SEED, Crate, parts

from pulldrop.board.request_types import Stairs
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run.specimens import VirtualPart, empty_socket
from pulldrop.measure import StepStarted, perform
from pulldrop.model.crate.crate import Command, Control, CrateView, Stage
from pulldrop.model.raw import Landing
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.run.plan import Plan
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan
from pulldrop.store import Store

FULL, SCREEN = plan("relay-full", "class-mini-12v-form-c"), plan("relay-screen", "class-mini-12v-form-c")
CALIBRATION = calibrate_virtual(SEED)


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as opened:
        yield opened


def run(board: VirtualBoard, at: Plan, cold_ohm: float | None = None) -> dict[str, Finding]:
    made = perform(at, board, CALIBRATION, cold_ohm=cold_ohm)
    return {one.id: one for one in made if not isinstance(one, StepStarted)}


def number(found: dict[str, Finding], id: str) -> float:
    one = found[id]
    assert isinstance(one, Reading) and one.value is not None
    return one.value


def board_with(**part: Any) -> VirtualBoard:
    return VirtualBoard(Specimen.model_validate({"title": "a part", "temperature_c": 23.0} | part), SEED)


def like_a_used_one(coil_percent: float) -> VirtualPart:
    """A sound part whose coil differs by so much from its like."""
    given = parts(GOOD)[0].specimen.model_dump()
    given["faults"] |= {"coil_ohm_percent": coil_percent}
    return VirtualPart(Specimen.model_validate(given), f"coil {coil_percent} %")


# --- readings ---


@pytest.mark.parametrize("before", [SCREEN, FULL])
def test_hardened_iron_lets_go_at_the_same_volts_whatever_was_tested_before(before: Plan) -> None:
    part: dict[str, Any] = {"coil": {"residual_mmf_a": 35.0}, "armature": {"friction_scatter": 0.0}}
    with board_with(**part) as fresh, board_with(**part) as used:
        cold_ohm = number(run(used, before), "coil_resistance")
        first, then = run(fresh, FULL), run(used, FULL, cold_ohm)
    for id in ("pull_in_voltage", "drop_out_voltage"):
        assert number(then, id) == pytest.approx(number(first, id), abs=0.02)


def test_a_threshold_says_at_what_volts_the_iron_was_magnetised() -> None:
    with board_with() as board:
        drop_out = run(board, FULL)["drop_out_voltage"]
    assert isinstance(drop_out, Reading)
    assert next(c.text for c in drop_out.conditions if c.name == "magnetised at") == "13.5 V"


def test_a_coil_that_the_supply_cannot_give_so_much_is_magnetised_at_nominal_volts() -> None:
    with board_with(coil={"resistance_ohm": 44.0}) as board:
        drop_out = run(board, FULL)["drop_out_voltage"]
    assert isinstance(drop_out, Reading)
    assert next(c.text for c in drop_out.conditions if c.name == "magnetised at") == "12 V"


def test_a_coil_that_an_earlier_run_has_warmed_reads_as_it_did_when_it_was_cold() -> None:
    with board_with() as board:
        cold = run(board, FULL)
        warm = run(board, FULL)
        told = run(board, FULL, number(cold, "coil_resistance"))
    for id in ("coil_resistance", "coil_resistance_20c"):
        assert number(warm, id) > 1.002 * number(cold, id), "the bench has warmed it, or this shows nothing"
        assert number(told, id) == pytest.approx(number(cold, id), rel=1e-4)
    ohms = told["coil_resistance"]
    assert isinstance(ohms, Reading)
    shown = next(c.text for c in ohms.conditions if c.name == "warmer by")
    assert 1.0 < float(shown.split(" K")[0]) < 5.0
    assert number(told, "pull_in_voltage_20c") == pytest.approx(number(cold, "pull_in_voltage_20c"), abs=0.03)


@pytest.mark.parametrize("other", [0.95, 1.02])
def test_ohms_that_no_warmth_explains_are_those_of_another_part(other: float) -> None:
    with board_with() as board:
        ohm = number(run(board, SCREEN), "coil_resistance")
        found = run(board, FULL, other * ohm)
    left = {one.id: one.because for one in found.values() if isinstance(one, NotTested)}
    before = {"leakage_open_contact", "leakage_coil_contact", "contact_rest", "first_operate_time"}
    assert {*left} == {*FULL.wanted} - before - {"first_drop_no", "first_drop_nc"}
    assert set(left.values()) == {"other part"}


# --- a crate ---

NEAR = 50.35
"""Percent by which a coil of 80 ohm is too high and still passes when it is cold, close enough to 120 ohm for the
full protocol to be asked."""


def coils(store: Store, id: str = "coil_resistance_20c") -> list[float]:
    """Ohms by every run of the one part, the oldest first."""
    (part,) = store.parts()
    records = [store.record(line.run) for line in store.runs(part.part.id)]
    ordered = sorted(records, key=lambda record: record.started)
    return [number({j.id: j.finding for j in record.judged}, id) for record in ordered]


def near_the_limit() -> VirtualPart:
    given = parts(GOOD)[0].specimen.model_dump()
    given["coil"]["resistance_ohm"] = 79.6
    given["faults"]["coil_ohm_percent"] = NEAR
    given["coil"]["turns"] *= 1.4
    return VirtualPart(Specimen.model_validate(given), "coil near its limit")


def test_the_full_protocol_reads_the_coil_as_it_was_before_the_screen_and_so_does_a_retest(store: Store) -> None:
    pressed: list[int] = []

    def again(crate: Crate, view: CrateView) -> None:
        if view.stage is Stage.RESULT and view.number == 1 and len(pressed) < 1:
            pressed.append(view.version)
            crate.sorter.press(Command(control=Control.RETEST, seen=view.version))

    Crate(store, [near_the_limit()], at_view=again).run()
    ohms = coils(store, "coil_resistance")
    assert len(ohms) == 4, "twice a screen and the full protocol"
    assert ohms == pytest.approx([ohms[0]] * 4, rel=1e-9)
    at_20c = coils(store)
    assert at_20c == pytest.approx([at_20c[0]] * 4, rel=4e-4), "0.1 K by the bench's own sensor"


class Exchanged(VirtualBoard):
    """A board at which somebody exchanges the part for another just before a staircase, `stairs` counted down."""

    stairs = 1000
    instead: Specimen | None = None

    def staircase(self, stairs: Stairs) -> Landing:
        self.stairs -= 1
        if self.stairs == 0 and self.instead:
            now = self.plant.pins
            self.plant.insert(self.instead)
            self.plant.drive(now)
        return super().staircase(stairs)


@pytest.mark.parametrize("coil_percent", [-4.0, 4.0])
def test_a_part_exchanged_for_a_like_one_within_the_longest_step_is_void(store: Store, coil_percent: float) -> None:
    board = Exchanged(empty_socket().specimen, SEED)
    other = like_a_used_one(coil_percent)

    def exchange(crate: Crate, view: CrateView) -> None:
        if view.step == "pull-in and drop-out" and view.number == 1 and board.instead is None:
            board.instead, board.stairs = other.specimen, 2

    crate = Crate(store, parts(GOOD), board, at_view=exchange).run()
    assert crate.words(Stage.RESULT)[0] == "VOID"
    assert crate.bins == [(1, "keep")], "inserted again, it is tested again"


def test_a_part_exchanged_between_screen_and_full_protocol_is_void(store: Store) -> None:
    board = VirtualBoard(empty_socket().specimen, SEED)
    done: list[int] = []

    def exchange(crate: Crate, view: CrateView) -> None:
        steps = [one.step for one in crate.views if one.step and one.stage is Stage.TESTING]
        if len(steps) > 4 and view.step == steps[0] and not done:
            done.append(view.version)
            board.insert(like_a_used_one(4.0).specimen)

    crate = Crate(store, [near_the_limit()], board, at_view=exchange).run()
    assert done and crate.words(Stage.RESULT)[0] == "VOID"
