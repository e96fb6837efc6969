"""A normally closed part is no stuck one: wherever it is met it is told for what it is, and looked at again."""

import pytest
from crates import Crate, parts

from pulldrop.cli.main import main
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.crate.crate import Bin
from pulldrop.model.run.record import Part
from pulldrop.model.verdict import Overall
from pulldrop.protocol.load import plan
from pulldrop.store import Store

NC_PART, STUCK = "normally-closed", "stuck-at-rest"


@pytest.mark.parametrize("kind", ["quick", "full", "screen", "diagnose"])
@pytest.mark.parametrize("form", ["a", "c"])
def test_tested_all_the_same_it_is_not_called_stuck(form: str, kind: str) -> None:
    at = plan(f"relay-{kind}", f"class-mini-12v-form-{form}")
    with Store.open(":memory:") as store, open_board("virtual", specimens.find(NC_PART), 1) as board:
        record = run_one(Task(plan=at, part=Part(id="", form=at.form)), board, store, lambda _: None)
    assert record.faults[0].id == "normally_closed" and record.faults[0].weight > 0.8
    assert record.verdict.overall is Overall.INCOMPLETE
    assert "count its blades" in record.verdict.next and "Form B" in record.verdict.means
    assert "stuck" not in record.verdict.model_dump_json()


def test_by_its_class_a_sound_one_passes_like_any_other_and_what_nobody_can_test_is_said() -> None:
    part = specimens.find(NC_PART)
    at = plan_for_specimen(part.specimen)
    assert at.rating.rating == "class-mini-12v-form-b"
    with Store.open(":memory:") as store, open_board("virtual", part, 1) as board:
        record = run_one(Task(plan=at, part=Part(id="", form=at.form)), board, store, lambda _: None)
    assert record.verdict.overall is Overall.PASS and not record.faults
    assert "insulation (this bench cannot, with this contact form)" in record.verdict.next


@pytest.mark.parametrize("form", ["a", "c"])
def test_a_crate_looks_at_it_again_and_still_scraps_a_stuck_part(form: str) -> None:
    with Store.open(":memory:") as store:
        first, second = Crate(store, parts(NC_PART, STUCK), rating=f"class-mini-12v-form-{form}").run().sorter.parts
    assert first.bin is Bin.LOOK_AGAIN and "normally closed" in " ".join(first.reasons)
    assert "stuck" not in " ".join(first.reasons)
    if form == "c":
        assert second.bin is Bin.SCRAP and second.reasons[0].startswith("contacts operated: 30-87 open, 30-87a closed")
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
        record = run_one(Task(plan=at, part=Part(id="", form=at.form)), board, store, lambda _: None)
    assert record.verdict.overall is Overall.INCOMPLETE and not record.faults
    assert "changeover part: test it by a rating of Form C" in record.verdict.found


def test_the_look_refuses_a_part_that_is_open_at_rest_by_a_rating_of_form_b(
    capsys: pytest.CaptureFixture[str],
) -> None:
    given = ("--specimen", "good-12v-normally-open", "--rating", "class-mini-12v-form-b", "--store", ":memory:")
    assert main(["test", "--board", "virtual", *given]) == 3
    assert "nothing is closed at rest" in " ".join(capsys.readouterr().err.split())
