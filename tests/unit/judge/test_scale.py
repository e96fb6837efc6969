"""Statements about the scale of contact drop: one reading has one answer, whichever protocol asked for it."""

from itertools import product
from pathlib import Path

import pytest
import records
from test_diagnosis import readings
from test_store import keep
from typer.testing import CliRunner

from pulldrop.cli.main import app
from pulldrop.jobs.parts.rejudge import rejudge
from pulldrop.judge import judge_finding, verdict
from pulldrop.judge.crate.bins import choose
from pulldrop.judge.diagnosis import diagnose
from pulldrop.model.crate.crate import Bin
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.pair import ContactState
from pulldrop.model.reading import Finding, Reading, Term
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.scale import CONTACT_DROP, LIGHT_DUTY, Grade, Mark
from pulldrop.model.steps import yields
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.verdict import Judged, Outcome, Overall, Verdict
from pulldrop.protocol.check import check
from pulldrop.protocol.crate import sorting
from pulldrop.protocol.load import plan
from pulldrop.protocol.ratings.classes import classes
from pulldrop.protocol.shipped import library
from pulldrop.protocol.shipped.purposes import shipped
from pulldrop.report.html import page
from pulldrop.report.paper.certificate import certificate
from pulldrop.report.paper.sheet import Sheet
from pulldrop.store import Store

RELAY = tuple(one.name for one in shipped() if one.kind == "relay")

FULL = plan("relay-full", "class-mini-12v-form-c")
CLASSES = tuple(one.rating for one in classes() if one.any_maker == "mini")
LOADING = tuple(name for name in RELAY if plan(name, CLASSES[0]).load_a is not None)
U_MV = (0.4, 2.0, 60.0)
SWEEP_MV = (*range(0, 401, 10), 95, 99, 101, 105, 195, 199, 201, 205)
NO, NC = "contact_drop_no", "contact_drop_nc"


def drop(mv: float, id: str = NO, u_mv: float = 0.4) -> Reading:
    """A contact drop at 10 A; `u_mv`: standard uncertainty."""
    return Reading(id=id, unit="V", value=mv / 1000, budget=(Term(name="all", u=u_mv / 1000, why="invented"),))


def graded(mv: float, u_mv: float = 0.4, of: Plan = FULL, id: str = NO) -> tuple[Outcome, Grade | None]:
    found = judge_finding(of, drop(mv, id, u_mv))
    return found.outcome, found.grade


def judged(of: Plan, **drops_mv: float) -> list[Judged]:
    """A run in which everything passes but for the contact drops, which are judged."""
    made = []
    for id in of.wanted:
        if id in ContactStep.gives:
            made.append(judge_finding(of, drop(drops_mv.get(id, 20.0), id)))
        else:
            unit = MEASUREMENTS[id].unit
            finding = Reading(id=id, unit=unit, value=1.0) if unit else Reading(id=id, unit="", state=ContactState())
            made.append(records.judge(finding, Outcome.PASS, "invented"))
    return made


def ended(of: Plan = FULL, **drops_mv: float) -> Verdict:
    return verdict(of, judged(of, **drops_mv), "complete")


# --- one reading, one answer ---


@pytest.mark.parametrize("rating", CLASSES)
def test_no_two_shipped_protocols_disagree_about_the_same_contact_drop(rating: str) -> None:
    plans = [plan(name, rating) for name in LOADING]
    assert len(plans) == 4
    for id, mv, u_mv in product(yields("contact", plans[0].rating), SWEEP_MV, U_MV):
        answers = {one.protocol: graded(mv, u_mv, one, id) for one in plans}
        assert len(set(answers.values())) == 1, (id, mv, u_mv, answers)


@pytest.mark.parametrize("name", [name for name in library.rating_names("relay") if not name.startswith("class-")])
def test_with_a_makers_sheet_they_agree_too(name: str) -> None:
    plans = [plan(one, name) for one in LOADING]
    for id, mv in product(yields("contact", plans[0].rating), range(0, 401, 50)):
        assert len({graded(mv, 2.0, one, id) for one in plans}) == 1, (id, mv)


@pytest.mark.parametrize("rating", CLASSES)
def test_a_crates_bin_is_the_verdict_of_the_full_protocol(rating: str) -> None:
    crate = sorting("crate-relay", rating)
    for mv in SWEEP_MV:
        run = judged(crate.full, **{yields("contact", crate.full.rating)[0]: mv})
        word = verdict(crate.full, run, "complete")
        wanted = {
            (Overall.PASS, None): Bin.KEEP,
            (Overall.PASS, Mark.LIGHT_DUTY): Bin.LIGHT_DUTY,
            (Overall.FAIL, None): Bin.SCRAP,
            (Overall.UNSURE, None): Bin.LOOK_AGAIN,
        }[word.overall, word.mark]
        assert choose(crate.rules, crate.full, run, ()).bin is wanted, mv


@pytest.mark.parametrize("name", LOADING)
def test_no_shipped_protocol_or_crate_carries_a_figure_of_its_own(name: str) -> None:
    written = library.find(name).read_text(encoding="utf-8")
    lines = [line.split(":", 1)[1] for line in written.splitlines() if line.strip().startswith("contact_drop_n")]
    assert lines and set(lines) == {' "<= rated else worn"'}


# --- the scale and its edges ---


def test_the_scale_is_100_and_200_mv_at_10_a() -> None:
    assert (CONTACT_DROP.good, CONTACT_DROP.worn, CONTACT_DROP.load) == (0.1, 0.2, 10.0)


@pytest.mark.parametrize(
    ("mv", "outcome", "grade"),
    [
        (30, Outcome.PASS, Grade.GOOD),
        (95.8, Outcome.PASS, Grade.GOOD),  # 2.1 standard uncertainties of 2 mV inside
        (96.2, Outcome.PASS, Grade.GOOD_OR_WORN),
        (103.8, Outcome.PASS, Grade.GOOD_OR_WORN),
        (104.2, Outcome.PASS, Grade.WORN),
        (140, Outcome.PASS, Grade.WORN),
        (195.8, Outcome.PASS, Grade.WORN),
        (196.2, Outcome.UNSURE, Grade.UNSURE),
        (203.8, Outcome.UNSURE, Grade.UNSURE),
        (204.2, Outcome.FAIL, Grade.BAD),
        (248, Outcome.FAIL, Grade.BAD),
    ],
)
def test_each_edge_has_the_guard_band(mv: float, outcome: Outcome, grade: Grade) -> None:
    assert graded(mv, 2.0) == (outcome, grade)


def test_a_contact_of_which_only_a_bound_is_known_is_bad_or_not_told() -> None:
    for mv, grade in ((250, Grade.BAD), (150, Grade.UNSURE)):
        at_least = drop(mv).model_copy(update={"bound": ">", "budget": ()})
        assert judge_finding(FULL, at_least).grade is grade


def test_only_a_contact_drop_at_10_a_has_a_grade() -> None:
    at_20_a = FULL.model_copy(
        update={
            "steps": tuple(s.model_copy(update={"load": 20.0}) if s.measure == "contact" else s for s in FULL.steps)
        }
    )
    assert judge_finding(at_20_a, drop(30)).grade is None
    assert judge_finding(FULL, records.reading("pull_in_voltage", 7.0, 0.1)).grade is None


# --- the mark ---


@pytest.mark.parametrize("id", (NO, NC))
@pytest.mark.parametrize(("mv", "says"), [(140.0, "is worn."), (100.0, "light duty until that is known.")])
def test_a_pass_whose_contact_is_not_surely_good_is_marked_light_duty_and_never_for_lamps(
    id: str, mv: float, says: str
) -> None:
    found = ended(**{id: mv})
    assert (found.overall, found.mark, found.word) == (Overall.PASS, Mark.LIGHT_DUTY, "pass, light duty")
    assert found.found.endswith(says) and "good up to 100 mV, worn up to 200 mV at 10 A" in found.found
    assert LIGHT_DUTY in found.next and "never filament lamps" in LIGHT_DUTY
    assert "the part is good." not in found.means and "Keep it" not in found.next


def test_a_good_part_and_one_that_did_not_pass_have_no_mark() -> None:
    assert ended().mark is None and ended().word == "pass"
    assert (ended(**{NO: 300.0}).overall, ended(**{NO: 300.0}).mark) == (Overall.FAIL, None)
    assert (ended(**{NO: 200.0}).overall, ended(**{NO: 200.0}).mark) == (Overall.UNSURE, None)


def test_a_makers_sheet_decides_and_the_scale_stands_beside_it() -> None:
    wide, narrow = plan("relay-full", "te-f4-12v-form-c"), plan("relay-full", "oen-79-12v-form-c")
    assert graded(150, of=wide) == (Outcome.PASS, Grade.WORN)  # 200 mV
    assert graded(230, of=wide, id=NC) == (Outcome.PASS, Grade.BAD)  # 250 mV
    assert graded(80, of=narrow) == (Outcome.FAIL, Grade.GOOD)  # 50 mV
    assert "scale" not in wide.limits[NO].text and wide.limits[NO].source.known == "read"
    kept = ended(wide, **{NC: 230.0})
    assert (kept.overall, kept.mark) == (Overall.PASS, Mark.LIGHT_DUTY)
    assert "beyond it, and inside the maker's limit" in kept.found


@pytest.mark.parametrize(
    "changed",
    [
        dict(contact_drop_no=0.15, contact_scatter_no=0.004, contact_before_load_no=0.02, contact_after_load_no=0.02),
        dict(contact_drop_no=0.156, contact_before_load_no=0.0151, contact_after_load_no=0.0156, contact_climb_no=1.75),
        {f"contact_{what}_{t}": 0.015 for what in ("before_load", "after_load") for t in ("no", "nc")}
        | {NO: 0.15, NC: 0.15},
    ],
    ids=["burnt_no", "terminal_no", "corroded_blade"],
)
def test_what_the_diagnosis_advises_does_not_contradict_a_pass(
    changed: dict[str, float], request: pytest.FixtureRequest
) -> None:
    at = plan("relay-diagnose", "class-mini-12v-form-c")
    found: list[Finding] = readings(**changed)
    faults = diagnose(at, found).faults
    assert faults[0].id == request.node.callspec.id
    assert "light duty" in faults[0].advice and "crap" not in faults[0].advice and "not fit" not in faults[0].advice
    drops = [judge_finding(at, one) for one in found if one.id in (NO, NC)]
    assert {one.outcome for one in drops} == {Outcome.PASS}
    slow = [one.model_copy(update={"value": 0.02}) if one.id == "release_time" else one for one in found]
    assert all("light duty" not in one.advice for one in diagnose(at, slow).faults), "it fails by its release time"
    worse = [one.model_copy(update={"value": 2 * one.value}) if one.id in changed else one for one in found]
    assert "light duty" not in diagnose(at, worse).faults[0].advice


# --- where it is kept and shown ---


def worn() -> RunRecord:
    of = judged(FULL, **{NO: 140.0})
    made = records.record(judged=tuple(of))
    return made.model_copy(update={"plan": FULL, "verdict": verdict(FULL, of, "complete")})


def test_grade_and_mark_are_kept_and_listed(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "a.db")) as store:
        kept = keep(store, worn())
        assert store.record(kept.run) == kept and kept.verdict.mark is Mark.LIGHT_DUTY
        assert store.runs("P0001")[0].mark is Mark.LIGHT_DUTY
        assert store.parts()[0].last and store.parts()[0].last.mark is Mark.LIGHT_DUTY
        quick = plan("relay-quick", "class-mini-12v-form-c")
        quick = quick.model_copy(update={"limits": {id: quick.limits[id] for id in (NO, NC)}})
        again = rejudge(store, kept.run, quick, records.STARTED)
        assert again.verdict.mark is Mark.LIGHT_DUTY and store.judgements(kept.run) == (again,)
        assert store.verify().findings == ()
    where = ["--store", str(tmp_path / "a.db")]
    for command in (["parts", "list", *where], ["parts", "show", "P0001", *where], ["health", "P0001", *where]):
        assert "pass, light duty" in CliRunner().invoke(app, command).output.lower(), command


def test_a_report_and_a_certificate_show_the_mark(monkeypatch: pytest.MonkeyPatch) -> None:
    written = page([worn()], "one part")
    assert '<p class="duty"><b>light duty</b></p>' in written and "used contacts: worn" in written
    monkeypatch.setattr(Sheet, "cell", lambda _s, _w, _h, text, **_k: shown.append(text))
    shown: list[str] = []
    certificate([worn()], "one part")
    assert any("PASS, LIGHT DUTY" in text for text in shown)


# --- in a protocol ---


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            "load: 10 A\n    makes",
            "load: 20 A\n    makes",
            "'contact_drop_no': the scale of contact drop holds at 10 A and 'contact' loads",
        ),
        ('"<= rated else worn"', '">= good"', "'contact_drop_no': the scale of contact drop gives the highest"),
        ('"<= rated else 70 % of nominal"', '"<= worn"', "'pull_in_voltage_20c': 'worn' is an edge of the scale"),
    ],
)
def test_the_scale_is_refused_where_it_does_not_hold(tmp_path: Path, old: str, new: str, says: str) -> None:
    text = library.find("relay-full").read_text(encoding="utf-8").replace("relay-full", "mine")
    file = tmp_path / "mine.yaml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    found = check(file)
    assert isinstance(found, list) and any(says in str(problem) for problem in found), found
