"""Reversed pulses tell magnetised iron from springs and hinges; a part with a diode never sees one."""

from collections.abc import Callable
from typing import Any

import pytest
from calibrated import calibrate_virtual

from pulldrop.board.request_types import Drive
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import StepStarted, perform
from pulldrop.model.reading import Finding, NotTested, Reading, state_code
from pulldrop.model.run.hand import Hand, Request
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.coil.reversed import ReversedStep
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

SEED = 3
IDS = ("contact_released", "drop_out_before_reversal", "contact_reversed", "drop_out_after_reversal", "drop_out_rise")
MAGNETISED = {"coil": {"residual_mmf_a": 42.0}}
STAYS = {"coil": {"residual_mmf_a": 70.0}}
DIODES: tuple[dict[str, Any], ...] = (
    {"kind": "diode"}, {"kind": "diode_zener", "zener_v": 24.0}, {"kind": "series_diode"},
)  # fmt: skip


class Bench(VirtualBoard):
    """Keeps what the coil was driven with while its leads were exchanged, and what was on at each request."""

    def __init__(self, **part: Any) -> None:
        super().__init__(Specimen.model_validate({"title": "a part", "temperature_c": 23.0} | part), SEED)
        self.asked: list[Request] = []
        self.on_when_asked: list[bool] = []
        self.driven: list[int] = []

    def hold_coil(self, drive: Drive) -> None:
        if self.plant.leads_exchanged and drive.on:
            self.driven.append(drive.dac)
        super().hold_coil(drive)

    def do(self, request: Request) -> bool:
        """A hand that does what it is asked for."""
        self.asked.append(request)
        self.on_when_asked.append(self.plant.pins.coil or self.plant.relay.circuit().plus_v > 0.5)
        self.exchange_leads(request.exchanged)
        return True


def measured(bench: Bench, hand: Hand | None, **changed: Any) -> dict[str, Finding]:
    at = plan("relay-reversed", "class-mini-12v-form-c")
    steps = [s for s in at.steps if isinstance(s, CoilStep | ReversedStep)]
    steps = [s.model_copy(update=changed) if isinstance(s, ReversedStep) else s for s in steps]
    at = at.model_copy(update={"steps": tuple(steps)})
    with bench:
        found = [
            one for one in perform(at, bench, calibrate_virtual(SEED), hand=hand) if not isinstance(one, StepStarted)
        ]
    return {one.id: one for one in found}


def told(**part: Any) -> dict[str, Finding]:
    bench = Bench(**part)
    return measured(bench, bench.do)


def number(found: dict[str, Finding], id: str) -> Reading:
    one = found[id]
    assert isinstance(one, Reading) and one.value is not None
    return one


def state(found: dict[str, Finding], id: str) -> str:
    one = found[id]
    assert isinstance(one, Reading) and one.state is not None
    return state_code(one.state)


def reason(found: dict[str, Finding], id: str) -> str:
    one = found[id]
    assert isinstance(one, NotTested)
    return one.reason


def test_reversed_pulses_raise_the_drop_out_of_magnetised_iron_beyond_both_uncertainties() -> None:
    found = told(**MAGNETISED)
    before, after = number(found, "drop_out_before_reversal"), number(found, "drop_out_after_reversal")
    rise = number(found, "drop_out_rise")
    assert rise.value == (after.value or 0) - (before.value or 0)
    assert rise.value > before.expanded_uncertainty + after.expanded_uncertainty
    assert rise.expanded_uncertainty > max(before.expanded_uncertainty, after.expanded_uncertainty)


@pytest.mark.parametrize(
    "part",
    [
        {},
        {"suppression": {"kind": "resistor"}},
        {"faults": {"return_spring_percent": 35}},
        {"base": "micro_12v_changeover"},
    ],
)
def test_they_raise_the_drop_out_of_no_other_part(part: dict[str, Any]) -> None:
    rise = number(told(**part), "drop_out_rise")
    assert abs(rise.value or 0) < 1.5 * rise.expanded_uncertainty  # U holds 19 of 20


def test_a_part_that_stays_operated_lets_go_at_a_reversed_pulse_which_is_named() -> None:
    found = told(**STAYS)
    assert (state(found, "contact_released"), state(found, "contact_reversed")) == (
        "30-87=1 30-87a=0", "30-87=0 30-87a=1",
    )  # fmt: skip
    let_go = {one.name: one for one in found["contact_reversed"].conditions}["let go at"]  # type: ignore[union-attr]  # a Reading
    assert let_go.value is not None and 0.3 < let_go.value < 3


def test_a_hinge_that_jams_does_not_let_go() -> None:
    found = told(faults={"stuck": "operated"})
    assert state(found, "contact_reversed") == "30-87=1 30-87a=0"
    assert "did not let go" in reason(found, "drop_out_rise")


@pytest.mark.parametrize("suppression", DIODES)
def test_a_part_with_a_diode_is_refused_before_anybody_is_asked(suppression: dict[str, Any]) -> None:
    bench = Bench(suppression=suppression)
    found = measured(bench, bench.do)
    assert all("polarised" in reason(found, id) for id in IDS)
    assert bench.asked == []


def test_a_diode_that_only_the_exchanged_leads_show_stops_it_below_a_volt() -> None:
    """As if the part had been changed for one with a diode while the leads were."""
    bench = Bench()

    def hand(request: Request) -> bool:
        if request.exchanged:
            bench.insert(Specimen.model_validate({"title": "other", "suppression": {"kind": "diode"}}))
        return bench.do(request)

    found = measured(bench, hand)
    assert "a diode conducts" in reason(found, "contact_reversed")
    assert max(bench.driven) < bench_code(1.5)
    assert [one.exchanged for one in bench.asked] == [True, False]


def bench_code(volts: float) -> int:
    return round(volts / 30.0 * 4096)


@pytest.mark.parametrize("part", [{}, MAGNETISED, STAYS, {"faults": {"return_spring_percent": 35}}])
def test_the_leads_are_touched_with_everything_off_and_no_pulse_comes_near_the_pull_in(part: dict[str, Any]) -> None:
    bench = Bench(**part)
    found = measured(bench, bench.do)
    assert bench.on_when_asked == [False, False]
    assert max(bench.driven) <= bench_code(6.5)
    names = [one.name for one in found["contact_reversed"].conditions]  # type: ignore[union-attr]  # a Reading
    assert "operated the other way at" not in names and "leads" in names


def test_a_pulse_that_operates_the_part_the_other_way_is_the_last_and_is_told() -> None:
    bench = Bench(**STAYS)
    found = measured(bench, bench.do, last=12.0)
    told = {one.name: one for one in found["contact_reversed"].conditions}  # type: ignore[union-attr]  # a Reading
    assert "operated the other way at" in told
    assert max(bench.driven) < bench_code(12.0)


@pytest.mark.parametrize(("hand", "why"), [(None, "nobody was asked"), (lambda _: False, "was left out")])
def test_without_a_hand_it_is_left_out_and_named_and_nothing_is_reversed(
    hand: Callable[[Request], bool] | None, why: str
) -> None:
    bench = Bench(**MAGNETISED)
    found = measured(bench, hand)
    assert number(found, "drop_out_before_reversal").value
    assert all(why in reason(found, id) for id in IDS[2:])
    assert bench.driven == []


def test_leads_that_were_not_put_back_end_it_with_the_advice() -> None:
    bench = Bench(**MAGNETISED)
    found = measured(bench, lambda request: request.exchanged and bench.do(request))
    assert "were not put back" in reason(found, "contact_reversed")


def test_leads_that_were_not_exchanged_raise_nothing_and_say_whose_word_it_is() -> None:
    found = measured(Bench(**MAGNETISED), lambda _: True)
    rise = number(found, "drop_out_rise")
    assert abs(rise.value or 0) < rise.expanded_uncertainty
    assert any("as the person said" in one.text for one in rise.conditions)


def test_it_needs_the_coil_step_before_it() -> None:
    at = plan("relay-reversed", "class-mini-12v-form-c")
    at = at.model_copy(update={"steps": tuple(s for s in at.steps if isinstance(s, ReversedStep))})
    with Bench() as bench:
        found = [one for one in perform(at, bench, calibrate_virtual(SEED), hand=bench.do)]
    assert all("coil step" in one.reason for one in found if isinstance(one, NotTested))


@pytest.mark.parametrize("faults", [{"stuck": "at rest"}, {"coil_open": True}])
def test_a_part_that_does_not_operate_has_no_pulse_either(faults: dict[str, Any]) -> None:
    bench = Bench(faults=faults)
    found = measured(bench, bench.do)
    assert all(reason(found, id) for id in IDS)
    assert bench.asked == []
