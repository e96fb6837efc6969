"""Statements about what the procedures find on virtual parts; the parts are invented."""

from collections.abc import Iterator
from typing import Any

import pytest
from unloaded import Unloaded

from pulldrop.board.errors import Refused
from pulldrop.board.request_types import Drive, Pulse
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.judge import judge_finding
from pulldrop.measure import StepStarted, perform
from pulldrop.measure.rig.counts.ranges import of_range
from pulldrop.measure.rig.counts.temperature import from_sum
from pulldrop.measure.rig.load import branches_for
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import PulseCounts
from pulldrop.model.reading import ConditionName, Finding, NotTested, Reading, state_words
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Outcome
from pulldrop.plant.bench.frontend import Frontend
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

FULL_C = plan("relay-full", "class-mini-12v-form-c")
FULL_A = plan("relay-full", "class-mini-12v-form-a")


def part(**physics: Any) -> Specimen:
    return Specimen.model_validate({"title": "invented", **physics})


def findings(specimen: Specimen, at: Plan = FULL_C, seed: int | None = None) -> dict[str, Finding]:
    with VirtualBoard(specimen, seed) as board:
        found = [f for f in perform(at, board, nominal(0)) if not isinstance(f, StepStarted)]
    assert len({f.id for f in found}) == len(found), "every id exactly once"
    return {f.id: f for f in found}


@pytest.fixture(scope="module")
def good() -> dict[str, Finding]:
    return findings(part())


def reading(found: dict[str, Finding], id: str) -> Reading:
    finding = found[id]
    assert isinstance(finding, Reading), finding
    return finding


def value(found: dict[str, Finding], id: str) -> float:
    number = reading(found, id).value
    assert number is not None
    return number


def not_tested(found: dict[str, Finding], id: str) -> str:
    finding = found[id]
    assert isinstance(finding, NotTested), finding
    return finding.reason


def test_a_good_changeover_part_gives_every_wanted_reading(good: dict[str, Finding]) -> None:
    assert set(good) == set(FULL_C.wanted)
    assert all(isinstance(f, Reading) for f in good.values())


def test_every_number_has_a_budget_conditions_and_raw_data(good: dict[str, Finding]) -> None:
    derived = {"coil_resistance_20c", "coil_current", "pull_in_voltage_20c", "pull_in_current"}
    for id, found in good.items():
        assert isinstance(found, Reading)
        assert found.conditions, id
        if found.state is None and found.bound == "=":
            assert found.budget and found.expanded_uncertainty > 0, id
            assert found.raw or id in derived, id


def test_a_budget_names_its_largest_term_first(good: dict[str, Finding]) -> None:
    sizes = [t.u for t in reading(good, "pull_in_voltage_20c").budget]
    assert sizes == sorted(sizes, reverse=True)


def test_the_coil_reads_what_was_wound(good: dict[str, Finding]) -> None:
    assert value(good, "coil_resistance_20c") == pytest.approx(part().coil.resistance_ohm, rel=2e-3)


def test_a_hot_part_has_more_ohms_and_more_pull_in_volts_but_the_same_at_20_degc(good: dict[str, Finding]) -> None:
    hot = findings(part(temperature_c=45.0))
    assert value(hot, "coil_resistance") > value(good, "coil_resistance") * 1.05
    assert value(hot, "pull_in_voltage") > value(good, "pull_in_voltage") * 1.05
    for id in ("coil_resistance_20c", "pull_in_voltage_20c", "pull_in_current"):
        assert value(hot, id) == pytest.approx(value(good, id), rel=0.01), id


def test_the_end_of_each_time_and_the_clamp_are_named(good: dict[str, Finding]) -> None:
    shown = {id: {c.name: c.text for c in reading(good, id).conditions} for id in good}
    assert shown["operate_time"]["ends at"] == "30-87 closing"
    assert shown["release_time"]["ends at"] == "30-87a closing"
    assert "TVS" in shown["release_time"]["clamp"]
    codes = {id: {c.name: c.code for c in reading(good, id).conditions} for id in ("release_time", "transfer_time")}
    assert codes["release_time"][ConditionName.CLAMP] == "tvs"
    assert codes["release_time"][ConditionName.ENDS_AT] == "30-87a=1"
    assert codes["transfer_time"][ConditionName.ENDS_AT] == "30-87a=0 30-87=1"
    assert "30-87 opening" in {c.text for c in reading(findings(part(form="A"), FULL_A), "release_time").conditions}


def test_a_four_terminal_part_is_not_asked_for_its_87a() -> None:
    found = findings(part(form="A"), FULL_A)
    assert not {"contact_drop_nc", "bounce_time_nc", "transfer_time"} & set(found)


def test_contact_drop_is_the_median_of_at_least_ten_makes(good: dict[str, Finding]) -> None:
    for id in ("contact_drop_no", "contact_drop_nc"):
        assert len(reading(good, id).makes) >= 10


def test_contact_drop_follows_the_contacts_ohms(good: dict[str, Finding]) -> None:
    burnt = findings(part(contact_no={"crust_mohm": 20.0, "pitting_scatter": 0.0}))
    rise_v = value(burnt, "contact_drop_no") - value(good, "contact_drop_no")
    assert rise_v == pytest.approx(10 * 20.0e-3, rel=0.01)
    assert value(burnt, "operate_time") == pytest.approx(value(good, "operate_time"), rel=0.01)


def test_a_contact_beyond_the_first_range_is_read_in_a_wider_one() -> None:
    found = findings(part(contact_no={"crust_mohm": 45.0, "pitting_scatter": 0.0}))
    assert value(found, "contact_drop_no") > 0.3
    assert {r.gain for r in reading(found, "contact_drop_no").raw if isinstance(r, PulseCounts)} & {1, 2, 3, 4}


@pytest.mark.parametrize(("code", "worth"), [(5, 1.0), (4, 2.0), (3, 4 * 0.99887), (1, 16 * 0.99847)])
def test_a_wider_range_has_a_doubt_of_its_own_against_the_calibrated_one(code: int, worth: float) -> None:
    # ADS1115 data sheet: 710 kohm up to 512 mV, 2.4 Mohm at 1.024 V, 15 Mohm at 4.096 V; ranges match within 0.1 %.
    gain = of_range(code)
    assert gain.nominal_value == pytest.approx(worth, rel=2e-5)
    assert gain.std_dev / gain.nominal_value == pytest.approx(0.0 if code == 5 else 0.001 / 3**0.5)


def test_only_a_part_that_reaches_the_clamp_of_the_bench_shares_its_doubt(good: dict[str, Finding]) -> None:
    diode = findings(part(suppression={"kind": "diode"}))
    assert "clamp" in {term.name for term in reading(good, "release_time").budget}
    assert "clamp" not in {term.name for term in reading(diode, "release_time").budget}
    assert "clamp" not in {term.name for term in reading(good, "bounce_time_nc").budget}


def test_a_diode_in_the_part_is_a_condition_of_its_release_whose_limit_allows_for_it(good: dict[str, Finding]) -> None:
    slow = findings(part(suppression={"kind": "diode"}, armature={"return_n": 1.2}))
    assert value(slow, "release_time") > 0.0101
    assert judge_finding(FULL_C, slow["release_time"]).outcome is Outcome.PASS
    assert ConditionName.OWN_DIODE not in {one.name for one in reading(good, "release_time").conditions}
    zener = findings(part(suppression={"kind": "diode_zener"}))
    assert ConditionName.OWN_DIODE not in {one.name for one in reading(zener, "release_time").conditions}


@pytest.mark.parametrize(("across", "shape"), [(None, "two values"), ("resistor", "rectangular"), ("diode", None)])
def test_whether_a_resistor_falsifies_20_degc_is_asked_of_the_rating(across: str | None, shape: str | None) -> None:
    rating = FULL_C.rating.model_copy(update={"suppression": across})
    warm = findings(part(temperature_c=30.0), FULL_C.model_copy(update={"rating": rating}))
    shapes = {term.name: term.shape for term in reading(warm, "coil_resistance_20c").budget}
    assert shapes.get("not copper") == shape


def test_an_open_coil_is_more_ohms_than_can_be_told_and_stops_the_rest() -> None:
    found = findings(part(faults={"coil_open": True}))
    ohm = reading(found, "coil_resistance")
    assert ohm.bound == ">" and ohm.value is not None and ohm.value > 10_000
    assert "no current" in not_tested(found, "operate_time")


def test_a_coil_that_would_take_more_than_the_supply_gives_is_measured_low_and_never_met_at_full_volts() -> None:
    fed: list[int] = []

    class Watched(VirtualBoard):
        def hold_coil(self, drive: Drive) -> None:
            fed.append(drive.dac)
            super().hold_coil(drive)

    with Watched(part(faults={"shorted_turns_percent": 58.0}), None) as board:
        found = {f.id: f for f in perform(FULL_C, board, nominal(0)) if not isinstance(f, StepStarted)}
    coil, later = found["coil_resistance"], found["pull_in_voltage"]
    assert isinstance(coil, Reading) and coil.value == pytest.approx(0.42 * 90, rel=0.05) and coil.bound == "="
    assert isinstance(later, NotTested) and later.because == "beyond bench"
    assert max(fed) * 30 / 4096 < 1.5


def test_a_reversed_diode_stops_at_the_probe_with_nothing_more_applied() -> None:
    found = findings(part(suppression={"kind": "diode", "reversed": True}))
    assert reading(found, "coil_resistance").bound == "<"
    assert "wrong way round" in not_tested(found, "pull_in_voltage")


def test_a_welded_contact_is_seen_at_rest_and_gives_no_times() -> None:
    found = findings(part(faults={"welded": "contact_no"}))
    assert state_words(reading(found, "contact_rest").state).startswith("30-87 closed")
    assert "welded" in not_tested(found, "operate_time")
    assert "welded" in not_tested(found, "pull_in_voltage")


def test_a_stuck_armature_gives_bounds_not_numbers() -> None:
    found = findings(part(faults={"stuck": "at rest"}))
    assert reading(found, "pull_in_voltage").bound == ">"
    assert reading(found, "operate_time").bound == ">"
    assert state_words(reading(found, "contact_operated").state) == "30-87 open, 30-87a closed"


def test_a_part_that_does_not_close_at_nominal_volts_is_timed_before_it_is_loaded() -> None:
    screen = plan("relay-screen", "class-mini-12v-form-c")
    order = []
    for specimen in (part(), part(faults={"stuck": "at rest"})):
        steps = perform(screen, VirtualBoard(specimen, None), nominal(0))
        order.append([one.title for one in steps if isinstance(one, StepStarted)])
    assert [titles[2] for titles in order] == ["contact drop under load", "operate, release, bounce"]
    assert sorted(order[0]) == sorted(order[1])


def test_a_coil_that_has_been_off_is_waited_for_only_as_long_as_is_missing() -> None:
    board = VirtualBoard(part(), None)
    bench = PartOnRig(board, nominal(0), FULL_C)
    bench.energise(12.0, 0.1)
    bench.release(0.03)
    began = board.elapsed()
    bench.release(0.05)
    assert board.elapsed() - began == pytest.approx(0.02, abs=0.003)
    began = board.elapsed()
    bench.energise(12.0, 0.1)
    bench.release(0.05)
    assert board.elapsed() - began >= 0.15


def test_a_contact_that_clicks_and_carries_nothing_gives_a_lower_bound_and_normal_times(
    good: dict[str, Finding],
) -> None:
    found = findings(part(contact_no={"crust_mohm": 25_000.0}))
    drop = reading(found, "contact_drop_no")
    assert drop.bound == ">" and drop.value is not None and drop.value > 1.0
    assert value(found, "operate_time") == pytest.approx(value(good, "operate_time"), rel=0.01)


def test_without_the_load_supply_contacts_are_not_tested_and_it_says_why() -> None:
    with Unloaded(part(), None) as board:
        found = {f.id: f for f in perform(FULL_C, board, nominal(0)) if not isinstance(f, StepStarted)}
    drop = found["contact_drop_no"]
    assert isinstance(drop, NotTested) and drop.because == "no load supply"


def test_a_refusal_for_duty_is_waited_out() -> None:
    class Tired(VirtualBoard):
        refusals = 2

        def load_pulse(self, pulse: Pulse) -> PulseCounts:
            if pulse.branches and self.refusals:
                self.refusals -= 1
                raise Refused("duty", "the load would be on for more than 10 % of 10 s")
            return super().load_pulse(pulse)

    with Tired(part(), None) as board:
        found = {f.id: f for f in perform(FULL_C, board, nominal(0)) if not isinstance(f, StepStarted)}
    assert isinstance(found["contact_drop_no"], Reading)


def test_everything_is_off_at_the_end_and_after_leaving_early() -> None:
    board = VirtualBoard(part(), None)
    for _ in perform(FULL_C, board, nominal(0)):
        pass
    assert not board.status().on


@pytest.mark.parametrize("seed", range(1, 9))
def test_the_truth_lies_inside_the_stated_uncertainty_on_imperfect_benches(seed: int) -> None:
    # Five of a hundred may lie outside U; three times the standard uncertainty is the bound of this test.
    found = findings(part(temperature_c=23.0), seed=seed)
    ohm = reading(found, "coil_resistance_20c")
    assert ohm.value is not None
    assert abs(ohm.value - part().coil.resistance_ohm) < 3 * ohm.standard_uncertainty


@pytest.mark.parametrize(("amps", "bits"), [(1, 1), (6, 3), (10, 4), (16, 7), (20, 8), (36, 15)])
def test_branches_add_up_to_the_load(amps: float, bits: int) -> None:
    assert branches_for(amps) == bits


@pytest.mark.parametrize("amps", [0.5, 2.0, 37.0])
def test_a_load_that_the_branches_cannot_make_is_refused(amps: float) -> None:
    with pytest.raises(CannotTest, match="cannot make"):
        branches_for(amps)


def ntc_sums() -> Iterator[tuple[int, float]]:
    # Equal resistors at 25 degC; 10 kohm B3950 tables (common practice): 32.65 kohm at 0 degC, 5.324 kohm at 40.
    yield 8192, 25.0
    yield round(16384 * 32.65 / 42.65), 0.0
    yield round(16384 * 5.324 / 15.324), 40.0


@pytest.mark.parametrize(("total", "celsius"), list(ntc_sums()))
def test_the_thermistor_reads_its_table(total: int, celsius: float) -> None:
    assert from_sum(total) == pytest.approx(celsius, abs=0.6)


def test_what_the_converter_cuts_off_does_not_warm_the_bench() -> None:
    parts, off = Frontend(), []
    for step in range(400):
        celsius = 15.0 + step * 0.0371
        read = from_sum(16 * parts.adc_counts(parts.ntc_pin_v(celsius)))
        assert read is not None
        off.append(read - celsius)
    assert sum(off) / len(off) == pytest.approx(0.0, abs=0.01)


def test_a_missing_or_shorted_thermistor_gives_no_temperature() -> None:
    assert from_sum(16384) is None and from_sum(0) is None and from_sum(16300) is None
