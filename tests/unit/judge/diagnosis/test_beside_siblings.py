"""Beside three sound parts of its type a part is known by what it differs in, and a type's own ways are no fault."""

from collections.abc import Sequence
from datetime import date

import pytest
from test_diagnosis import at, readings

from pulldrop.judge.diagnosis import Diagnosis, diagnose, learned
from pulldrop.model.measurement import Clamped
from pulldrop.model.part.reference import Sibling, TypeReference
from pulldrop.model.reading import Finding, Reading

TYPE: dict[str, float] = {  # a weak design: what the class would take for a weak spring, or nearly
    "pull_in_voltage": 4.2, "pull_in_current": 0.0467, "drop_out_voltage": 1.5, "armature_start_time": 2.2e-3,
    "operate_time": 4.1e-3, "release_time": 3.5e-3,
}  # fmt: skip
PARTS = (0.97, 1.0, 1.04, 1.01)
MILD: dict[str, float] = {
    "pull_in_voltage": 3.2, "pull_in_current": 0.0356, "drop_out_voltage": 1.3, "armature_start_time": 1.4e-3,
    "operate_time": 3.2e-3, "release_time": 4.4e-3, "bounce_time_nc": 2.2e-3,
}  # fmt: skip
"""The same type with a spring that lost a part of its force."""


def part(times: float = 1.0, clamp: Clamped = Clamped.BENCH, **changed: float) -> list[Finding]:
    """One part of the type, all its own readings higher by this factor."""
    own = {id: value * times for id, value in (TYPE | changed).items()}
    return [*readings(**own), Reading(id="flyback_class", unit="", state=clamp)]


def kin(siblings: Sequence[Sequence[Finding]]) -> TypeReference | None:
    day = date(2026, 11, 30)
    return learned(at(), [Sibling(found=one, bench="virtual 1", simulated=True, tested=day) for one in siblings])


def beside(found: Sequence[Finding], siblings: Sequence[Sequence[Finding]]) -> Diagnosis:
    return diagnose(at(), found, reference=kin(siblings))


SOUND = [part(times) for times in PARTS[:3]]


def test_a_part_as_its_siblings_is_sound_however_its_type_differs_from_the_class() -> None:
    told = beside(part(PARTS[3]), SOUND)
    assert told == Diagnosis()


def test_a_weak_spring_that_the_class_cannot_tell_is_named_beside_three_siblings() -> None:
    assert diagnose(at(), part(**MILD)).faults == ()
    named = beside(part(**MILD), SOUND).faults
    assert named[0].id == "weak_spring"
    assert named[0].weight > 0.9
    assert any("0.76 of its siblings'" in one.text for one in named[0].evidence)


def test_shorted_turns_within_the_range_of_a_class_are_named_beside_siblings() -> None:
    less = {"coil_resistance_low": 66.0, "coil_resistance": 66.0, "coil_resistance_20c": 66.0}
    shorted = part(**less, pull_in_current=0.07)
    assert diagnose(at(), shorted).faults == ()
    assert [one.id for one in beside(shorted, SOUND).faults] == ["shorted_turns"]


def across(share: float, release: float) -> list[Finding]:
    """A part of the type whose coil reads so much of its siblings', because a resistor is across one of them."""
    ohms = dict.fromkeys(("coil_resistance_low", "coil_resistance", "coil_resistance_20c"), 90.0 * share)
    return part(**ohms, pull_in_current=0.0467 / share, release_time=3.5e-3 * release)


@pytest.mark.parametrize(("share", "release"), [(0.88, 1.4), (0.85, 1.2), (1.13, 0.75)])
def test_a_resistor_across_one_coil_and_not_the_others_is_no_fault_of_the_winding(share: float, release: float) -> None:
    told = beside(across(share, release), SOUND)
    assert told.faults == ()
    assert told.unlike is not None
    assert "a resistor across its" in told.unlike.text
    assert not any("resistor" in id for id in told.unlike.may_be)


def test_what_nine_standard_deviations_apart_shows_is_named_though_it_is_one_reading_of_nine() -> None:
    """A magnetised iron whose springs are as strong as ever: only what it lets go at, and its start, differ."""
    held = part(drop_out_voltage=0.8, armature_start_time=1.5e-3)
    assert [one.id for one in beside(held, SOUND).faults] == ["residual_magnetism"]


def test_a_mild_fault_is_named_by_what_it_always_changes_and_one_thing_more() -> None:
    """Friction that takes a fifth more volts, and an armature that starts late: all else is as the siblings have it."""
    mild = part(pull_in_voltage=5.0, pull_in_current=0.0556, drop_out_voltage=1.45, armature_start_time=3.3e-3)
    assert [one.id for one in beside(mild, SOUND).faults] == ["sluggish"]
    assert beside(part(armature_start_time=3.3e-3), SOUND).faults == ()


def scattering(found: Sequence[Finding], share: float) -> list[Finding]:
    """The same, its single makes apart by so much."""
    return [
        one.model_copy(update={"makes": tuple(one.value * (1 + share * n) for n in (-1.2, -0.5, 0.0, 0.6, 1.1))})
        if isinstance(one, Reading) and one.value and one.id in ("operate_time", "release_time")
        else one
        for one in found
    ]


STEADY = [scattering(one, 0.003) for one in SOUND]


def test_a_mild_friction_is_named_by_moves_that_scatter_more_than_those_of_its_siblings() -> None:
    mild = part(pull_in_voltage=4.5, pull_in_current=0.05, drop_out_voltage=1.36, operate_time=4.4e-3)
    assert beside(scattering(mild, 0.003), STEADY).faults == ()
    assert beside(scattering(mild, 0.03), STEADY).faults[0].id == "sluggish"
    assert beside(scattering(part(PARTS[3]), 0.006), STEADY) == Diagnosis()


def test_what_siblings_scatter_from_make_to_make_stands_in_their_reference() -> None:
    learnt = kin(STEADY)
    assert learnt is not None
    assert learnt.figures["release_time"].scatter == pytest.approx(0.0028, rel=0.05)
    assert learnt.figures["pull_in_voltage"].scatter is None


def test_a_spring_that_takes_pull_in_and_drop_out_down_together_is_weak_and_its_iron_is_not_magnetised() -> None:
    """What iron keeps takes as many ampere-turns from both, so that they stay as far apart as the siblings'."""
    timed = {"armature_start_time": 1.5e-3, "operate_time": 3.4e-3, "release_time": 4.7e-3}
    weak = part(pull_in_voltage=2.65, pull_in_current=0.0294, drop_out_voltage=0.8, **timed)
    assert {one.id for one in beside(weak, SOUND).faults} == {"weak_spring"}
    kept = part(pull_in_voltage=3.2, pull_in_current=0.0356, drop_out_voltage=0.4, **timed)
    named = [one.id for one in beside(kept, SOUND).faults]
    assert named[0] == "residual_magnetism"
    assert "weak_spring" not in named


def test_a_late_release_alone_is_no_bouncing_contact() -> None:
    assert "bouncing" not in {one.id for one in beside(part(release_time=4.3e-3), SOUND).faults}


def test_siblings_with_one_rebound_more_are_still_of_one_type() -> None:
    assert kin([*SOUND[:2], part(bounce_time_no=1.0e-3)]) is not None


def test_siblings_of_which_one_stands_off_are_no_reference() -> None:
    """It may be a bad one, and it may be of another design, as the part is that is held beside them."""
    assert kin([*SOUND, part(**MILD)]) is None
    assert kin([*SOUND, part(operate_time=5.5e-3)]) is None


def test_siblings_that_differ_more_than_those_of_one_type_widen_the_reference_by_it() -> None:
    near, wide = kin(SOUND), kin([part(release_time=each) for each in (2.9e-3, 3.4e-3, 3.9e-3)])
    assert near is not None
    assert wide is not None
    assert wide.figures["release_time"].spread > 2 * near.figures["release_time"].spread
    late = part(release_time=5.0e-3)
    assert diagnose(at(), late, reference=near) != Diagnosis()
    assert diagnose(at(), late, reference=wide) == Diagnosis()


def test_a_release_unlike_its_siblings_is_no_missing_suppression_where_the_spike_is_theirs() -> None:
    for release_s in (1.5e-3, 2.2e-3, 5.0e-3):
        found = beside(part(release_time=release_s), SOUND)
        assert "suppression_missing" not in {one.id for one in found.faults}


def test_two_siblings_are_no_reference() -> None:
    assert kin(SOUND[:2]) is None
    assert diagnose(at(), part(**MILD), reference=None) == diagnose(at(), part(**MILD))


@pytest.mark.parametrize("other", [{"protocol": "relay-full"}, {"version": 99}, {"nominal_v": 24.0}, {"form": "A"}])
def test_siblings_tested_otherwise_say_nothing(other: dict[str, object]) -> None:
    made = kin(SOUND)
    assert made is not None
    told = diagnose(at(), part(**MILD), reference=made.model_copy(update=other))
    assert told == diagnose(at(), part(**MILD))


def test_a_release_slowed_by_a_diode_that_the_siblings_lack_is_not_held_against_them() -> None:
    slow = part(clamp=Clamped.DIODE, release_time=11e-3)
    assert beside(slow, SOUND) == Diagnosis()
    assert beside(part(release_time=11e-3), SOUND) != Diagnosis()


def test_siblings_of_two_suppressions_are_those_of_the_greater_number() -> None:
    diodes = [part(times, Clamped.DIODE, release_time=11e-3) for times in PARTS[:2]]
    made = kin([*diodes, *SOUND])
    assert made is not None
    assert (made.parts, made.clamp) == (3, Clamped.BENCH)
    assert kin([*diodes, *SOUND[:2]]) is None


def test_a_part_that_stands_alone_and_that_no_fault_explains_is_unlike_its_siblings_and_has_no_fault() -> None:
    odd = part(armature_start_time=1.4e-3, operate_time=6.0e-3, release_time=1.2e-3, bounce_time_no=0.2e-3)
    told = beside(odd, SOUND)
    assert told.faults == ()
    assert told.unlike is not None
    assert told.unlike.text.startswith("unlike its siblings")
    assert told.unlike.text.endswith("a part of another type")
    assert "printed on its case" in told.unlike.next


@pytest.mark.parametrize(
    ("pull_in", "drop_out", "name"),
    [(0.71, 0.51, "residual_magnetism"), (0.70, 0.59, "weak_spring"), (0.55, 0.28, "residual_magnetism")],
)
def test_iron_takes_as_much_from_pull_in_as_from_drop_out_and_a_weak_spring_a_share_of_each(
    pull_in: float, drop_out: float, name: str
) -> None:
    close = {"pull_in_voltage": 6.0, "pull_in_current": 0.0667, "drop_out_voltage": 3.6}
    changed = {
        "pull_in_voltage": 6.0 * pull_in, "pull_in_current": 0.0667 * pull_in, "drop_out_voltage": 3.6 * drop_out,
        "operate_time": 3.0e-3, "armature_start_time": 1.6e-3,
    }  # fmt: skip
    named = beside(part(**changed), [part(times, **close) for times in PARTS[:3]]).faults
    assert named[0].id == name
    assert sum(one.weight for one in named) < 1.02  # one or the other, never both


def test_friction_that_moves_much_is_one_fault_and_not_magnetised_iron_beside_it() -> None:
    rough = {
        "pull_in_voltage": 6.3, "pull_in_current": 0.07, "drop_out_voltage": 0.45, "armature_start_time": 3.6e-3,
        "operate_time": 6.5e-3, "release_time": 5.0e-3,
    }  # fmt: skip
    assert [one.id for one in beside(scattering(part(**rough), 0.03), STEADY).faults] == ["sluggish"]


def test_a_coil_a_tenth_above_its_siblings_is_one_reading_and_no_fault() -> None:
    more = dict.fromkeys(("coil_resistance_low", "coil_resistance", "coil_resistance_20c"), 99.0)
    assert beside(part(**more, pull_in_voltage=4.62), SOUND).faults == ()


def test_a_release_that_no_sibling_gave_is_no_sign() -> None:
    late = [[one for one in part(times) if one.id != "release_time"] for times in PARTS[:3]]
    high = dict.fromkeys(("coil_resistance_low", "coil_resistance", "coil_resistance_20c"), 128.0)
    named = beside(part(**high, pull_in_voltage=5.9, operate_time=5.4e-3, release_time=23e-3), late).faults
    assert [one.id for one in named] == ["coil_high"]
    assert named[0].weight > 0.9


@pytest.mark.parametrize(
    ("name", "changed"),
    [
        ("residual_magnetism", {"pull_in_voltage": 4.5, "pull_in_current": 0.05, "drop_out_voltage": 0.6}),
        ("weak_spring", {"pull_in_voltage": 2.65, "pull_in_current": 0.0294, "drop_out_voltage": 0.9}),
    ],
)
def test_a_release_that_a_diode_makes_long_is_late_after_a_load_too_and_no_friction(
    name: str, changed: dict[str, float]
) -> None:
    slow = {"release_time": 13e-3, "release_after_load": 13e-3}
    late = {"release_time": 18e-3, "release_after_load": 18e-3}
    siblings = [part(times, **slow) for times in PARTS[:3]]
    assert beside(part(**changed | late), siblings).faults[0].id == name
