"""A fault is named from all of its evidence; a sound part has none, and what cannot be known is said."""

import random
from dataclasses import replace

import diagnosis  # the campaign, here with one part of each fault
import faulty
import pytest

from pulldrop.judge.diagnosis import NOTHING, diagnose
from pulldrop.judge.diagnosis.bands import Band, outside
from pulldrop.judge.diagnosis.evidence.clue import Clue
from pulldrop.judge.diagnosis.fault import PartFault
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.judge.diagnosis.sound import sound
from pulldrop.model.measurement import MEASUREMENTS, Clamped
from pulldrop.model.reading import Finding, NotTested, Reading, Term, state_of
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.plan import Plan
from pulldrop.protocol.load import plan

USUAL: dict[str, float | str] = {
    "coil_resistance_low": 90.0,
    "contact_rest": "30-87=0 30-87a=1",
    "coil_resistance": 90.0,
    "coil_resistance_20c": 90.0,
    "contact_before_load_no": 0.003,
    "contact_loaded_no": 0.003,
    "contact_after_load_no": 0.003,
    "contact_scatter_no": 0.0001,
    "contact_before_load_nc": 0.003,
    "contact_after_load_nc": 0.003,
    "contact_scatter_nc": 0.0001,
    "armature_start_time": 3.0e-3,
    "armature_seat_time": 5.6e-3,
    "pull_in_current": 0.068,
    "drop_out_voltage": 2.5,
    "contact_operated": "30-87=1 30-87a=0",
    "operate_time": 5.0e-3,
    "release_time": 2.4e-3,
    "bounce_time_no": 0.5e-3,
    "bounce_time_nc": 1.6e-3,
    "contact_drop_no": 0.03,
    "contact_drop_nc": 0.03,
}


def at() -> Plan:
    return plan("relay-diagnose", "class-mini-12v-form-c")


def sheet() -> Plan:
    """Beside a maker's sheet also those faults are named that another design might explain as well."""
    return plan("relay-diagnose", "cit-a2-12v-90ohm-form-c")


def readings(**changed: float | str | None) -> list[Finding]:
    """A usual part with some readings changed; None: the part did not allow it."""
    made: list[Finding] = []
    for id, value in (USUAL | changed).items():
        if value is None:
            made.append(NotTested(id=id, reason="the part did not allow it"))
        elif isinstance(value, str):
            made.append(Reading(id=id, unit="", state=state_of(value)))
        else:
            budget = (Term(name="all", u=0.004 * value, why="invented"),)
            made.append(Reading(id=id, unit=MEASUREMENTS[id].unit, value=value, budget=budget))
    return made


def reading(id: str, value: float) -> Reading:
    budget = (Term(name="all", u=0.004 * value, why="invented"),)
    return Reading(id=id, unit=MEASUREMENTS[id].unit, value=value, budget=budget)


def named(**changed: float | str | None) -> tuple[NamedFault, ...]:
    return diagnose(at(), readings(**changed)).faults


def told(**changed: float | str | None) -> tuple[NamedFault, ...]:
    return diagnose(sheet(), readings(**changed)).faults


BURNT = dict(contact_drop_no=0.6, contact_scatter_no=0.02, contact_before_load_no=0.06, contact_after_load_no=0.05)


def test_a_sound_part_yields_no_finding() -> None:
    assert named() == ()


def test_a_contact_that_reads_high_before_and_after_the_load_is_burnt() -> None:
    (one,) = named(**BURNT)
    assert one.id == "burnt_no"
    assert {e.id for e in one.evidence if e.speaks == "for"} >= {"contact_drop_no", "contact_scatter_no"}


def test_a_contact_that_the_load_cleans_had_a_film() -> None:
    (one,) = named(contact_before_load_no=3.0)
    assert one.id == "film_no"


def test_both_throws_high_and_steady_are_one_corroded_blade_and_not_two_burnt_contacts() -> None:
    high = {f"contact_{what}_{throw}": 0.03 for what in ("before_load", "after_load") for throw in ("no", "nc")}
    found = named(**high, contact_drop_no=0.3, contact_drop_nc=0.3)
    assert found[0].id == "corroded_blade"


def test_a_high_drop_that_is_steady_is_the_blade_and_not_the_contact() -> None:
    found = named(contact_drop_no=0.3, contact_before_load_no=0.03, contact_after_load_no=0.03)
    assert found[0].id == "terminal_no"


def test_a_blade_that_is_only_a_little_corroded_is_named_although_it_warms_under_load() -> None:
    steady = readings(contact_drop_no=0.156, contact_before_load_no=0.0151, contact_after_load_no=0.0156)
    (one,) = diagnose(at(), [*steady, reading("contact_climb_no", 1.75)]).faults
    assert one.id == "terminal_no"


def test_a_drop_that_climbs_from_pulse_to_pulse_is_too_little_metal() -> None:
    (one,) = diagnose(at(), [*readings(), reading("contact_climb_no", 12.0)]).faults
    assert one.id == "under_rated"
    assert diagnose(at(), [*readings(), reading("contact_climb_no", 0.4)]).faults == ()


STUCK = Reading(id="release_after_hot_make", unit="s", value=0.03, bound=">")


def test_a_contact_that_lets_go_late_or_not_at_all_after_a_hot_make_alone_tacks_as_it_closes_on_its_load() -> None:
    dry = reading("release_after_load", 2.4e-3)
    for hot in (reading("release_after_hot_make", 3.4e-3), STUCK):
        (one,) = diagnose(at(), [*readings(), dry, hot]).faults
        assert one.id == "tacking_hot"
        (told,) = (e for e in one.evidence if e.speaks == "for")
        assert told.id == "release_after_hot_make"
        assert told.text.endswith("times that after a dry make")
        assert ("at least" in told.text) is (hot.bound == ">")
    assert diagnose(at(), [*readings(), dry, reading("release_after_hot_make", 2.43e-3)]).faults == ()


def test_a_late_release_after_a_hot_make_is_named_though_overdrive_finds_the_part_sound() -> None:
    late = [reading("release_after_load", 1.58e-3), reading("release_after_hot_make", 1.94e-3)]
    found = diagnose(at(), [*readings(), *late, reading("drop_out_overdriven", 2.5)]).faults
    assert [one.id for one in found] == ["tacking_hot"]


def test_an_nc_that_opens_late_or_not_at_all_after_a_hot_make_tacks_as_it_closes_on_its_load() -> None:
    id = "opening_after_hot_make_nc"
    usual = readings(transfer_time=0.85e-3)
    for hot in (reading(id, 4.9e-3), Reading(id=id, unit="s", value=0.03, bound=">")):
        (one,) = diagnose(at(), [*usual, hot]).faults
        assert one.id == "tacking_hot_nc"
        (told,) = one.evidence
        assert (told.id, "times that after a dry make" in told.text) == (id, True)
    assert diagnose(at(), [*usual, reading(id, 4.22e-3)]).faults == ()
    assert diagnose(at(), [*readings(), reading(id, 4.9e-3)]).faults == (), "with no dry make to compare it with"


def test_a_contact_that_stays_closed_after_a_dry_make_with_load_tacks_whatever_a_hot_make_would_do() -> None:
    dry = Reading(id="release_after_load", unit="s", value=0.03, bound=">")
    closed = NotTested(id="release_after_hot_make", reason="NO is closed with the coil off")
    assert diagnose(at(), [*readings(), dry, closed]).faults[0].id == "tacking"


def test_without_a_dry_make_to_compare_with_a_hot_make_alone_names_nothing() -> None:
    assert diagnose(at(), [*readings(), reading("release_after_hot_make", 3.4e-3)]).faults == ()


@pytest.mark.parametrize(
    ("id", "fault"), [("leakage_open_contact", "leak_contact"), ("leakage_coil_contact", "leak_coil")]
)
def test_less_than_a_megohm_is_a_leak_and_more_is_none(id: str, fault: str) -> None:
    assert [one.id for one in diagnose(at(), [*readings(), reading(id, 2e5)]).faults] == [fault]
    dry = Reading(id=id, unit="ohm", value=9e6, bound=">")
    assert diagnose(at(), [*readings(), dry]).faults == ()


def test_pull_in_and_drop_out_far_apart_are_friction_though_each_alone_might_be_sound() -> None:
    apart = [
        reading("pull_in_voltage", 8.2),
        *readings(pull_in_current=0.090, drop_out_voltage=1.25, armature_start_time=4.5e-3, operate_time=7e-3),
    ]
    assert diagnose(sheet(), apart).faults[0].id == "sluggish"


def test_what_overdrive_lowers_is_magnetised_and_what_it_leaves_is_a_spring() -> None:
    weak = readings(pull_in_current=0.046, drop_out_voltage=0.95, armature_start_time=2.0e-3, operate_time=4.0e-3)
    assert diagnose(sheet(), [*weak, reading("drop_out_overdriven", 0.6)]).faults[0].id == "residual_magnetism"
    assert diagnose(sheet(), [*weak, reading("drop_out_overdriven", 0.95)]).faults[0].id == "weak_spring"


def test_of_one_winding_only_one_thing_is_wrong_so_that_a_second_fault_is_not_hidden() -> None:
    high = dict.fromkeys(("coil_resistance_low", "coil_resistance", "coil_resistance_20c"), 210.0)
    found = told(**high, **BURNT, pull_in_current=0.060, operate_time=9e-3, armature_start_time=5e-3)
    assert {one.id for one in found if one.weight > 0.6} == {"coil_high", "burnt_no"}


def test_two_faults_at_once_are_both_named_with_their_own_evidence() -> None:
    found = told(**BURNT, bounce_time_nc=9e-3)
    assert {one.id for one in found} == {"burnt_no", "bouncing"}
    assert all(e.id == "bounce_time_nc" for one in found if one.id == "bouncing" for e in one.evidence)


WEAK = dict(
    pull_in_current=0.028, pull_in_voltage=2.55, drop_out_voltage=1.0, armature_start_time=0.75e-3,
    operate_time=2.3e-3, drop_out_overdriven=1.0,
)  # fmt: skip


def test_without_a_reference_a_weak_spring_is_no_fault_but_unlike_its_class() -> None:
    faults, unlike = diagnose(at(), readings(**WEAK))
    assert faults == () and unlike is not None
    assert unlike.may_be[0] == "weak_spring"
    assert unlike.text.startswith("unlike its class: a weak spring") and unlike.text.endswith(", or another design")
    assert "three of its kind" in unlike.next
    assert diagnose(sheet(), readings(**WEAK)).faults[0].id == "weak_spring"


def test_a_burnt_contact_is_named_also_where_the_design_is_none_of_the_usual() -> None:
    faults, unlike = diagnose(at(), readings(**BURNT, operate_time=11e-3, armature_start_time=7.6e-3))
    assert [one.id for one in faults] == ["burnt_no"]
    assert unlike is not None and unlike.text.endswith("another design")
    assert [one.id for one in unlike.evidence] == ["armature_start_time", "operate_time"]


def test_parts_all_over_what_makers_publish_are_sound_and_like_their_class() -> None:
    for low in (0.26, 0.45, 0.68):
        for share in (0.35, 0.6):
            drop_out = max(share * low, 0.105)
            usual = readings(pull_in_current=low * 12 / 90, pull_in_voltage=low * 12, drop_out_voltage=drop_out * 12)
            assert diagnose(at(), usual) == NOTHING, (low, share)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda one: one.id)
def test_each_fault_says_whether_it_is_known_without_a_reference(fault: PartFault) -> None:
    takes_one = {"weak_spring", "coil_high", "sluggish", "bouncing", "shorted_turns", "residual_magnetism"}
    assert bool(fault.called) is (fault.id in takes_one)


def test_a_closed_contact_at_rest_is_a_weld_when_the_armature_moves_and_stuck_when_it_does_not() -> None:
    gone = dict.fromkeys(
        ("pull_in_current", "drop_out_voltage", "contact_operated", "operate_time", "release_time", "bounce_time_no",
         "bounce_time_nc", "contact_drop_nc", "contact_before_load_nc", "contact_after_load_nc", "contact_scatter_nc")
    )  # fmt: skip
    welded = named(contact_rest="30-87=1 30-87a=0", **gone)
    assert welded[0].id == "welded_no"
    still = [
        Reading(id=one.id, unit="s", value=0.03, bound=">") if one.id.startswith("armature") else one
        for one in readings(contact_rest="30-87=1 30-87a=0", **gone)
    ]
    assert diagnose(at(), still).faults[0].id == "stuck_operated"


def test_iron_that_only_walk_and_load_magnetise_in_full_holds_the_part_though_its_times_were_good() -> None:
    held = dict.fromkeys(("pull_in_current", "drop_out_voltage", "contact_drop_nc", "contact_after_load_nc"))
    assert diagnose(at(), readings(**held, release_time=6.7e-3, operate_time=3.3e-3)).faults[0].id == "held_operated"


def test_a_kink_in_the_current_of_a_stuck_armature_is_no_late_start_and_no_friction() -> None:
    gone = dict.fromkeys(
        ("pull_in_current", "drop_out_voltage", "contact_operated", "operate_time", "release_time", "bounce_time_no",
         "bounce_time_nc", "contact_drop_nc", "contact_before_load_nc", "contact_after_load_nc", "contact_scatter_nc")
    )  # fmt: skip
    stuck = readings(contact_rest="30-87=1 30-87a=0", armature_start_time=10e-3, **gone)
    still = [
        Reading(id=one.id, unit="s", value=0.03, bound=">") if one.id == "armature_seat_time" else one for one in stuck
    ]
    assert [one.id for one in diagnose(at(), still).faults] == ["stuck_operated"]


def test_causes_that_the_readings_do_not_tell_apart_are_rivals_and_a_further_test_is_named() -> None:
    found = told(pull_in_current=0.040, drop_out_voltage=0.89, armature_start_time=2.0e-3, operate_time=4.0e-3)
    assert {found[0].id, *found[0].rivals} >= {"weak_spring", "residual_magnetism"}
    assert found[0].further


def test_a_spike_up_to_the_clamp_of_the_bench_is_a_fault_only_where_the_sheet_has_a_diode() -> None:
    spike = Reading(id="flyback_class", unit="", state=Clamped.BENCH)
    assert diagnose(at(), [*readings(), spike]).faults == ()
    with_diode = at().model_copy(update={"rating": at().rating.model_copy(update={"suppression": "diode"})})
    assert [one.id for one in diagnose(with_diode, [*readings(), spike]).faults] == ["suppression_missing"]


def test_what_the_bench_could_not_test_is_no_evidence() -> None:
    unloaded = [
        NotTested(id=one.id, reason="no load supply", because="no load supply")
        if "drop" in one.id and "contact" in one.id
        else one
        for one in readings()
    ]
    assert diagnose(at(), unloaded).faults == ()


def test_nothing_is_named_where_nothing_was_measured() -> None:
    assert diagnose(at(), []).faults == ()


def test_what_was_read_before_the_coil_made_the_board_switch_off_counts_and_the_trip_does() -> None:
    begun = [one for one in readings(coil_resistance_low=39.0) if one.id in ("coil_resistance_low", "contact_rest")]
    (one,) = diagnose(at(), begun, tripped=True).faults
    assert one.id == "shorted_turns"
    assert {e.id for e in one.evidence} == {"coil_resistance_low", "coil_current"}
    low = [one for one in readings(coil_resistance_low=64.0) if one.id in ("coil_resistance_low", "contact_rest")]
    assert diagnose(at(), low).faults == () and diagnose(at(), low, tripped=True).faults != ()


def test_a_trip_is_no_sign_of_shorted_turns_where_half_a_volt_showed_too_many_ohms_for_it() -> None:
    before = [one for one in readings() if one.id in ("coil_resistance_low", "contact_rest")]
    assert diagnose(at(), before, tripped=True).faults == ()


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.id)
def test_every_fault_changes_only_what_a_sound_part_has_too_and_gives_advice_in_one_sentence(fault: object) -> None:
    assert set(fault.does) <= set(sound(0.1))  # type: ignore[attr-defined]  # a Fault
    advice = fault.advice  # type: ignore[attr-defined]
    assert advice.endswith(".")
    assert len(advice) < 160


def test_the_campaign_draws_every_fault_that_can_be_named() -> None:
    assert set(faulty.FAULTS) == {fault.id for fault in FAULTS}


@pytest.mark.slow
@pytest.mark.parametrize("eighth", range(2))
def test_one_part_of_every_fourth_fault_from_the_campaign_is_named(eighth: int) -> None:
    """In stock there is a part of every fault, and each of those is named: test_stock_named.py."""
    listed = [diagnosis.Case((fault,), 1, 0) for fault in faulty.FAULTS] + [diagnosis.Case((), 0, n) for n in range(3)]
    results = diagnosis.campaign(listed[4 * eighth :: 8], seed=1, workers=1)
    wrong = [r for r in results if r.first not in (r.right or {diagnosis.SOUND})]
    assert not wrong
    assert not [r for r in results if r.passed and set(r.case.faults) & set(faulty.GRAVE)]


def test_the_campaign_draws_the_same_part_from_the_same_seed() -> None:
    one, two = (faulty.draw(("burnt_no",), 1, random.Random(5)) for _ in range(2))
    assert one == two


def test_a_weld_that_holds_its_armature_has_one_name_with_a_jammed_one_and_no_false_odds() -> None:
    """Coil current without a dip and contacts that never move: nothing electric tells what holds the armature."""
    still = Reading(id="armature_seat_time", unit="s", value=0.03, bound=">")
    gone = dict.fromkeys((*NEVER_SWITCHES, *NEVER_MADE_NO))
    found = [one for one in readings(**gone, contact_operated="30-87=0 30-87a=1") if one.id != "armature_seat_time"]
    (named,) = diagnose(at(), [*found, still]).faults
    assert named.id == "stuck_at_rest"
    assert "jammed, or held by a weld" in named.title


def test_a_bounce_whose_end_a_late_release_hides_is_not_taken_for_an_endless_one() -> None:
    """The window ends 30 ms after the coil went off; with a diode across it NC may close 4 ms before that."""
    for release_s, names in ((26e-3, []), (4e-3, ["bouncing"])):
        found = [one for one in readings(release_time=release_s) if one.id != "bounce_time_nc"]
        told = diagnose(sheet(), [*found, NotTested(id="bounce_time_nc", reason="it did not come to rest")])
        assert [one.id for one in told.faults if one.id == "bouncing"] == names


def test_a_part_that_lets_go_too_late_to_make_nc_in_time_is_not_taken_for_one_without_nc() -> None:
    unseen = dict.fromkeys(("release_time", "bounce_time_nc", *NC_READINGS))
    late = [*readings(**unseen), reading("release_after_load", 27.7e-3)]
    assert diagnose(at(), late).faults == ()


def test_friction_that_scatters_every_make_is_not_taken_for_a_contact_that_tacks() -> None:
    steady, loose = (5.0e-3, 5.01e-3, 5.0e-3, 4.99e-3, 5.0e-3), (4.6e-3, 5.0e-3, 5.0e-3, 5.4e-3, 5.9e-3)
    late = reading("opening_after_hot_make_nc", 4.1e-3), reading("transfer_time", 1.5e-3)
    found = []
    for makes in (steady, loose):
        others = [one for one in readings() if one.id != "operate_time"]
        operate = reading("operate_time", 5.0e-3).model_copy(update={"makes": makes})
        found.append([one.id for one in diagnose(at(), [*others, operate, *late]).faults])
    assert found == [["tacking_hot_nc"], []]


NEVER_SWITCHES = ("drop_out_voltage", "release_time", "bounce_time_no", "bounce_time_nc", "pull_in_current")
NEVER_MADE_NO = tuple(f"contact_{what}_no" for what in ("before_load", "loaded", "after_load", "scatter", "drop"))
NC_READINGS = tuple(f"contact_{what}_nc" for what in ("before_load", "after_load", "scatter", "drop"))


def test_a_bound_is_outside_a_band_only_where_the_band_lies_beyond_it() -> None:
    """Less than 1.8 times the drop-out before is what a sound part gives, too: it speaks for no fault."""
    band = Band(0.95, 1.05, 0.015)
    less, more = (Clue("overdriven", "drop_out_overdriven", "", 1.8, bound=bound) for bound in ("<", ">"))
    assert not outside(less, band)
    assert outside(more, band)
    assert outside(replace(less, value=0.5), band)


def test_a_part_whose_diode_holds_it_beyond_the_window_dry_and_loaded_does_not_tack() -> None:
    late = Reading(id="release_after_load", unit="s", value=0.03, bound=">")
    dry = readings(release_time=None, bounce_time_nc=None, contact_drop_no=0.17, flyback_class="diode")
    assert not any(one.id.startswith("tacking") for one in diagnose(at(), [*dry, late]).faults)
    assert diagnose(at(), [*readings(), late]).faults[0].id == "tacking"
