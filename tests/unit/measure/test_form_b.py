"""A normally closed part is no stuck one: wherever it is met it is recognised, and looked at again."""

from pathlib import Path

import pytest
from crates import Crate, parts

from pulldrop.cli.main import main
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.crate.crate import Bin
from pulldrop.model.part.rating import IN_SI
from pulldrop.model.part.relay import Relay
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.model.scale import Grade
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.model.wording.words import not_tested
from pulldrop.protocol.load import plan
from pulldrop.store import Store

NC_PART, STUCK = "normally-closed", "stuck-at-rest"


@pytest.mark.parametrize("kind", ["quick", "full", "screen", "diagnose"])
@pytest.mark.parametrize("form", ["a", "c"])
def test_tested_all_the_same_it_is_not_called_stuck(form: str, kind: str) -> None:
    at = plan(f"relay-{kind}", f"class-mini-12v-form-{form}")
    with Store.open(":memory:") as store, open_board("virtual", specimens.find(NC_PART), 1) as board:
        record = run_one(Task(plan=at, part=Relay(id="", form=at.form)), board, store, lambda _: None)
    assert record.faults[0].id == "normally_closed" and record.faults[0].weight > 0.8
    assert record.verdict.overall is Overall.ANOTHER_KIND
    assert "count its blades" in record.verdict.next and "Form B" in record.verdict.means
    assert "stuck" not in record.verdict.model_dump_json()


def test_by_its_class_a_sound_one_passes_like_any_other_and_what_nobody_can_test_is_said() -> None:
    part = specimens.find(NC_PART)
    at = plan_for_specimen(part.specimen)
    assert at.rating.rating == "class-mini-12v-form-b"
    with Store.open(":memory:") as store, open_board("virtual", part, 1) as board:
        record = run_one(Task(plan=at, part=Relay(id="", form=at.form)), board, store, lambda _: None)
    assert record.verdict.overall is Overall.PASS and not record.faults
    assert "insulation of the coil (the bench puts its 5 V on 87, which this part lacks" in record.verdict.next
    assert "good as a normally closed part (Form B)" in record.verdict.means


def test_insulation_is_not_tested_in_any_result_of_a_normally_closed_part_and_the_reason_stands_beside_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    rated = ("--protocol", "relay-diagnose", "--rating", "class-mini-12v-form-b")
    given = ("--specimen", NC_PART, *rated, "--store", ":memory:")
    assert main(["test", "--board", "virtual", *given, "--json"]) == 0
    record = RunRecord.model_validate_json(capsys.readouterr().out, context=IN_SI)
    left = [one for one in record.judged if one.outcome is Outcome.NOT_TESTED]
    assert [one.id for one in left] == ["leakage_open_contact", "leakage_coil_contact"]
    assert all("on 87, which this part lacks" in one.reason for one in left)
    assert "Not tested: " in record.verdict.next and "on 87, which this part lacks" in record.verdict.next
    assert record.verdict.overall is Overall.PASS
    assert len(not_tested(record)[left[0].reason]) == 2


@pytest.mark.parametrize("kind", ["quick", "full", "screen", "diagnose"])
def test_a_sound_normally_open_part_by_a_rating_of_form_c_is_not_called_bouncing(kind: str) -> None:
    at, part = plan(f"relay-{kind}", "class-mini-12v-form-c"), specimens.find("good-12v-normally-open")
    with Store.open(":memory:") as store, open_board("virtual", part, 1) as board:
        record = run_one(Task(plan=at, part=Relay(id="", form=at.form)), board, store, lambda _: None)
    assert [fault.id for fault in record.faults] == ["normally_open"] and record.faults[0].weight > 0.8
    assert record.verdict.overall is Overall.ANOTHER_KIND
    assert "contact 87a missing: a normally open part (Form A)" in record.verdict.means
    assert "rating of Form A" in record.verdict.next and "bounce" not in record.verdict.model_dump_json()


def test_without_a_rating_a_part_whose_87_never_closes_is_judged_as_a_normally_closed_one(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """No bench sees at rest that a closed 87a has no 87 beside it, so it is tested as a changeover part first."""
    given = ("--board", "virtual", "--specimen", NC_PART, "--store", ":memory:")
    assert main(["test", *given, "--json"]) == 0
    record = RunRecord.model_validate_json(capsys.readouterr().out, context=IN_SI)
    assert record.plan.rating.rating == "class-mini-12v-form-b" and "without a blade 87" in record.verdict.next
    assert main(["test", *given, "--rating", "class-mini-12v-form-c"]) == 3
    assert "count its blades" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("form", ["a", "c"])
def test_a_twin_by_another_rating_is_not_judged_with_its_second_blade_left_out(
    form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    given = ("--specimen", "twin-87", "--rating", f"class-mini-12v-form-{form}", "--store", ":memory:")
    assert main(["test", "--board", "virtual", *given]) == 3
    assert "rating of twin 87" in " ".join(capsys.readouterr().err.split())
    assert main(["test", "--board", "virtual", "--no-look", *given]) == 3
    assert "two blades 87: test it by a rating of twin 87" in " ".join(capsys.readouterr().out.split())


def test_a_twin_is_loaded_by_both_of_its_blades(capsys: pytest.CaptureFixture[str]) -> None:
    given = ("--specimen", "twin-87", "--protocol", "relay-quick", "--store", ":memory:")
    assert main(["test", "--board", "virtual", *given, "--json"]) == 0
    record = RunRecord.model_validate_json(capsys.readouterr().out, context=IN_SI)
    assert record.plan.rating.rating == "class-mini-12v-twin-87"
    drops = {one.id: one for one in record.judged if one.id.startswith("contact_drop")}
    assert list(drops) == ["contact_drop_no", "contact_drop_twin"]
    for one in drops.values():
        assert one.outcome is Outcome.PASS and one.grade is Grade.GOOD
        assert isinstance(one.finding, Reading) and 5e-3 < (one.finding.value or 0.0) < 40e-3


def test_a_second_blade_that_carries_nothing_fails_the_twin(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its contact is the other blade's, and burnt."""
    part = tmp_path / "twin.yaml"
    part.write_text("title: invented\nform: twin\nbase: mini_12v_normally_open\ncontact_no: {crust_mohm: 40}\n")
    main(["test", "--board", "virtual", "--specimen", str(part), "--store", ":memory:", "--json"])
    record = RunRecord.model_validate_json(capsys.readouterr().out, context=IN_SI)
    assert next(one for one in record.judged if one.id == "contact_drop_twin").outcome is Outcome.FAIL


@pytest.mark.parametrize("form", ["a", "c"])
def test_a_crate_judges_it_as_what_it_is_or_looks_again_and_still_scraps_a_stuck_part(form: str) -> None:
    with Store.open(":memory:") as store:
        first, second = Crate(store, parts(NC_PART, STUCK), rating=f"class-mini-12v-form-{form}").run().sorter.parts
    assert first.bin is (Bin.KEEP if form == "c" else Bin.LOOK_AGAIN) and "normally closed" in first.reasons[0]
    assert form == "a" or first.reasons[0].endswith("if it has no blade 87; with one its 87 is dead: scrap it")
    assert "stuck" not in " ".join(first.reasons)
    if form == "c":
        assert second.bin is Bin.SCRAP and second.reasons[0].startswith("first make: more than 30.0 ms")
    else:
        assert second.bin is Bin.LOOK_AGAIN and "changeover" in second.reasons[0], "its 87a is closed: not of this form"


def test_identify_has_the_blades_counted(capsys: pytest.CaptureFixture[str]) -> None:
    for more in ((), ("--operate",)):
        main(["identify", "--board", "virtual", "--specimen", NC_PART, "--store", ":memory:", *more])
        said = " ".join(capsys.readouterr().out.split())
        assert "without a blade 87 it is normally closed (Form B), tested by a rating of Form B" in said
        assert f"class-mini-12v-form-{'b' if more else 'c'}" in said


@pytest.mark.parametrize("kind", ["quick", "diagnose"])
def test_a_sound_changeover_part_by_a_rating_of_form_b_is_not_judged(kind: str) -> None:
    at = plan(f"relay-{kind}", "class-mini-12v-form-b")
    part = specimens.find("good-12v-changeover")
    with Store.open(":memory:") as store, open_board("virtual", part, 1) as board:
        record = run_one(Task(plan=at, part=Relay(id="", form=at.form)), board, store, lambda _: None)
    assert record.verdict.overall is Overall.ANOTHER_KIND and not record.faults
    assert "changeover part: test it by a rating of Form C" in record.verdict.found


def test_a_changeover_part_whose_87a_is_dead_passes_as_form_a_only_with_a_word_about_that_blade() -> None:
    """No test with the coil off or on tells the two: only its blades do."""
    at, sound = plan("relay-quick", "class-mini-12v-form-a"), specimens.find("good-12v-changeover").specimen
    dead = sound.contact_nc.model_copy(update={"film_ohm": 1e7, "film_breaks_v": 30.0})
    part = VirtualPart(sound.model_copy(update={"contact_nc": dead}), "87a never closes")
    with Store.open(":memory:") as store, open_board("virtual", part, 1) as board:
        record = run_one(Task(plan=at, part=Relay(id="", form=at.form)), board, store, lambda _: None)
    assert record.verdict.overall is Overall.PASS
    assert "with one it is a changeover part whose 87a never closed, and is not good" in record.verdict.next


def test_the_look_refuses_a_part_that_is_open_at_rest_by_a_rating_of_form_b(
    capsys: pytest.CaptureFixture[str],
) -> None:
    given = ("--specimen", "good-12v-normally-open", "--rating", "class-mini-12v-form-b", "--store", ":memory:")
    assert main(["test", "--board", "virtual", *given]) == 3
    assert "nothing is closed at rest" in " ".join(capsys.readouterr().err.split())
