"""What a maker's sheet tells of springs and iron: what it gives both ends of, and nothing where it gives one."""

from test_diagnosis import readings, sheet

from pulldrop.judge.diagnosis import diagnose
from pulldrop.model.reading import Finding
from pulldrop.model.run.plan import Plan

WEAK: dict[str, float | str | None] = {
    "pull_in_voltage": 4.0, "pull_in_current": 0.0444, "drop_out_voltage": 1.7, "armature_start_time": 1.5e-3,
    "operate_time": 3.1e-3, "release_time": 3.0e-3,
}  # fmt: skip
"""A spring that has lost half of its force: low in every band of its class, and outside none."""


def windows(**given: float) -> Plan:
    at = sheet()
    return at.model_copy(update={"rating": at.rating.model_copy(update=given)})


def named(at: Plan, found: list[Finding]) -> list[str]:
    return [one.id for one in diagnose(at, found).faults]


def test_a_weak_spring_shows_beside_a_sheet_that_gives_the_lowest_pull_in_too() -> None:
    assert named(sheet(), readings(**WEAK)) == []
    assert named(windows(pull_in_least=5.0, drop_out_most=4.0), readings(**WEAK)) == ["weak_spring"]


def test_a_window_that_makers_of_many_lots_give_tells_nothing_of_it() -> None:
    assert named(windows(pull_in_least=3.0, drop_out_most=4.2), readings(**WEAK)) == []


def test_a_part_in_the_middle_of_its_windows_is_sound() -> None:
    assert named(windows(pull_in_least=5.0, drop_out_most=4.0), readings(pull_in_voltage=6.1)) == []


def test_a_pull_in_above_what_the_sheet_promises_is_no_design_of_its_own() -> None:
    stiff: dict[str, float | str | None] = {
        "pull_in_voltage": 9.7, "pull_in_current": 0.1078, "drop_out_voltage": 2.1, "armature_start_time": 4e-3,
        "operate_time": 6.5e-3,
    }  # fmt: skip
    assert named(sheet(), readings(**stiff)) == ["sluggish"]


def test_a_sheet_does_not_make_a_fault_of_a_release_that_a_diode_makes_long() -> None:
    """It leaves the window before NC has come to rest, and the sheet says nothing of a release with a diode."""
    slow = readings(release_time=29e-3, release_after_load=26e-3, bounce_time_nc=None, flyback_class="diode")
    assert named(sheet(), slow) == []
