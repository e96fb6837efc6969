"""A verdict says what the protocol left out, and what it takes a person's word for."""

import io
import re
from pathlib import Path

import pytest
import records
from rich.console import Console
from test_diagnosis import readings

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.show.testing.result import show_faults
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.judge import judge_finding, verdict
from pulldrop.judge.crate.bins import choose
from pulldrop.judge.diagnosis import diagnose
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.judge.diagnosis.forms import faults_of
from pulldrop.judge.verdict import NOT_IN_PLAN, untested_in_short
from pulldrop.model.crate.crate import Bin
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.relay import FORMS, TWIN, Relay
from pulldrop.model.reading import Finding, NotTested, Reading, state_of
from pulldrop.model.run.fault import NamedFault, Unlike
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.purpose import Purpose
from pulldrop.model.scale import LIGHT_DUTY, LIGHT_LOADS
from pulldrop.model.steps import STEPS, yields
from pulldrop.model.verdict import Judged, Outcome, Overall, Verdict
from pulldrop.model.wording import cautions
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.crate import sorting
from pulldrop.protocol.load import plan
from pulldrop.protocol.shipped.library import crate_names
from pulldrop.protocol.shipped.purposes import protocol_for
from pulldrop.store import Store

A12, B12, C12 = "class-mini-12v-form-a", "class-mini-12v-form-b", "class-mini-12v-form-c"
TWIN12 = "class-mini-12v-twin-87"
WORD = "rests on a person's word"


def passed(purpose: Purpose, rating: str = C12, reversed: bool = True, faults: tuple[NamedFault, ...] = ()) -> Verdict:
    """Of a part that met every limit; `reversed`: its coil leads were exchanged, where the protocol asks for it."""
    at = plan(protocol_for("relay", purpose), rating)
    found = [Judged(id=id, outcome=Outcome.PASS, reason="met", finding=Reading(id=id, unit="")) for id in at.wanted]
    if not reversed:
        left = NotTested(id="contact_reversed", reason="left out")
        found = [j if j.id != left.id else j.model_copy(update={"finding": left}) for j in found]
    return verdict(at, found, "complete", faults=faults)


@pytest.mark.parametrize(("purpose", "rating"), [("quick", C12), ("full", C12), ("full", "class-mini-24v-form-a")])
def test_a_pass_without_a_hot_make_names_it_and_the_protocol_that_makes_one(purpose: Purpose, rating: str) -> None:
    told = passed(purpose, rating)
    assert told.overall is Overall.PASS
    assert "Not tested: hot make (tacking), heating under load (the protocol relay-diagnose does)" in told.next
    assert "coil when hot (the protocol relay-soak does)" in told.next


def test_a_pass_by_the_diagnosis_names_what_that_leaves_out_and_nothing_else() -> None:
    assert passed("diagnose").next.startswith(
        "Keep it. Not tested: coil when hot (the protocol relay-soak does). A bench"
    )


@pytest.mark.parametrize("rating", [A12, B12, C12, TWIN12])
@pytest.mark.parametrize("purpose", ["quick", "full", "diagnose", "screen"])
def test_a_pass_sends_to_no_protocol_that_cannot_test_it_either(purpose: Purpose, rating: str) -> None:
    told, of = passed(purpose, rating), plan("relay-quick", rating)
    for kind, words in NOT_IN_PLAN.items():
        listed = re.search(rf"{re.escape(words)}[^(]*\((.*?)\)", told.next)
        if listed and listed[1].startswith("the protocol "):
            to = plan(listed[1].removeprefix("the protocol ").removesuffix(" does"), rating)
            assert yields(kind, of.rating) and kind in [step.measure for step in to.steps], told.next
        elif listed:
            assert listed[1] in STEPS[kind].beyond(FORMS[of.relay.form]).values()


def test_what_this_bench_does_not_measure_of_a_form_is_said_to_be_beyond_it() -> None:
    assert "heating under load (this bench cannot, for this form" in passed("diagnose", B12).next


@pytest.mark.parametrize("purpose", ["quick", "full", "diagnose", "screen"])
def test_a_pass_of_a_twin_says_that_its_second_blade_got_less(purpose: Purpose) -> None:
    told = "Of the second 87 only its drop was tested."
    assert told in passed(purpose, TWIN12).next
    assert told not in passed(purpose, A12).next
    assert [one.id for one in MEASUREMENTS.values() if TWIN in one.needs] == ["contact_drop_twin"]
    assert "second 87 but for its drop" in untested_in_short(plan(protocol_for("relay", purpose), TWIN12))


@pytest.mark.parametrize(("rating", "blade"), [(A12, "87a"), (B12, "87"), (C12, ""), (TWIN12, "")])
def test_a_pass_names_the_blade_with_which_the_part_would_be_a_broken_changeover(rating: str, blade: str) -> None:
    told = passed("quick", rating).next
    assert ("This holds for a part without a blade" in told) == bool(blade)
    assert not blade or f"a changeover part whose {blade} never closed, and is not good." in told
    short = untested_in_short(plan("relay-screen", rating))
    assert short.endswith(f", {blade} if it has one") if blade else "if it has one" not in short


def test_a_pass_of_a_part_that_is_going_names_what_is_and_does_not_say_that_it_is_good() -> None:
    faults = (
        NamedFault(id="weak_spring", title="return spring weak", weight=0.7, advice="Not where it must let go."),
        NamedFault(id="film_no", title="film on contact 87", weight=0.6, advice="Clean it."),
    )
    told = passed("full", faults=faults)
    assert told.overall is Overall.PASS
    assert told.found.endswith("but not as by a sound part: return spring weak; film on contact 87.")
    assert "is good" not in told.means and "Keep it" not in told.next
    assert told.next.startswith("Not where it must let go. Clean it. Not tested: hot make")


TWO = "armature stuck at rest, or contact 87a welded: these readings do not tell which"


@pytest.mark.parametrize(
    ("weights", "rivals", "named", "advice"),
    [
        ((0.50, 0.50), True, TWO, "Scrap"),
        ((0.50, 0.46), True, TWO, "Scrap"),
        ((0.60, 0.30), True, "armature stuck at rest.", "Knock on it."),
        ((0.97, 0.95), False, "armature stuck at rest.", "Knock on it."),
    ],
)
def test_a_tie_of_two_faults_names_both_and_advises_as_the_sterner_does(
    weights: tuple[float, float], rivals: bool, named: str, advice: str
) -> None:
    at = plan("relay-quick", B12)
    first = NamedFault(
        id="stuck_at_rest", title="armature stuck at rest", weight=weights[0], advice="Knock on it.",
        rivals=("welded_nc",) if rivals else (),
    )  # fmt: skip
    second = NamedFault(
        id="welded_nc", title="contact 87a welded", weight=weights[1], advice="Scrap it.", never_fit=True,
        rivals=("stuck_at_rest",) if rivals else (),
    )  # fmt: skip
    failed = Judged(id="operate_time", outcome=Outcome.FAIL, reason="over", finding=Reading(id="operate_time", unit=""))
    told = verdict(at, [failed], "complete", faults=(first, second))
    assert f"Most likely: {named}" in told.means and told.next.startswith(advice)


def test_reversed_pulses_rest_on_a_persons_word_and_the_verdict_says_so() -> None:
    assert WORD in passed("reversed").means
    assert WORD not in passed("reversed", reversed=False).means
    assert WORD not in passed("full").means


def test_a_fault_named_by_reversed_pulses_shows_whose_word_that_is() -> None:
    found = [
        Reading(id=id, unit="", state=state_of(state))
        for id, state in (
            ("contact_rest", "30-87=0 30-87a=1"),
            ("contact_released", "30-87=1 30-87a=0"),
            ("contact_reversed", "30-87=0 30-87a=1"),
        )
    ]
    (named,) = diagnose(plan("relay-reversed", "class-mini-12v-form-c"), found).faults
    assert any("if the leads were exchanged as the person said" in one.text for one in named.evidence)


# --- a pass and its suspects ---

STERN = re.compile(r"\b(scrap|do not fit)\b", re.IGNORECASE)


@pytest.mark.parametrize(("purpose", "rating"), [("quick", C12), ("full", C12), ("quick", A12), ("diagnose", C12)])
@pytest.mark.parametrize("mv", [130.0, 150.0, 185.0])
def test_a_pass_with_a_worn_contact_is_neither_to_be_scrapped_nor_said_to_tack(
    purpose: Purpose, rating: str, mv: float
) -> None:
    told, faults = worn(purpose, mv, rating)
    assert told.word == "pass, light duty" and not any(one.id.startswith("tacking") for one in faults)
    assert not STERN.search(told.next) and not any(STERN.search(one.advice) for one in faults)
    assert told.next.count(LIGHT_LOADS) == 1, told.next


@pytest.mark.parametrize("purpose", ["quick", "full"])
def test_a_steady_loss_is_not_said_to_tack_where_nothing_tested_that(purpose: Purpose) -> None:
    told, faults = worn(purpose, 310.0)
    assert told.overall is Overall.FAIL and "tack" not in told.means and "weld" not in told.next
    assert not any(one.id.startswith("tacking") for one in faults)


@pytest.mark.parametrize(
    "changed",
    [
        dict(
            drop_out_voltage=1.25,
            pull_in_voltage=2.4,
            pull_in_voltage_20c=2.4,
            pull_in_current=0.027,
            operate_time=2.1e-3,
            first_operate_time=2.4e-3,
        ),
        dict(bounce_time_nc=4.7e-3, bounce_time_no=4.2e-3),
        dict(
            pull_in_voltage=8.2,
            pull_in_voltage_20c=8.1,
            pull_in_current=0.09,
            operate_time=9.8e-3,
            first_operate_time=11e-3,
            drop_out_voltage=1.22,
        ),
    ],
    ids=["weak_spring", "bouncing", "sluggish"],
)
def test_a_part_that_meets_its_limits_is_never_advised_against_its_verdict(changed: dict[str, float]) -> None:
    for rating, sheet in (("hongfa-hfv15-12v-form-c", True), ("class-mini-12v-form-c", False)):
        at = plan("relay-full", rating)
        if sheet:
            at = at.model_copy(update={"rating": at.rating.model_copy(update={"pull_in_least": 4.0})})
        found = complete(at, **changed)
        judged = [judge_finding(at, one) for one in found]
        assert {one.outcome for one in judged} <= {Outcome.PASS, Outcome.NOTED}
        faults, unlike = diagnose(at, found)
        told = verdict(at, judged, "complete", faults=faults, unlike=unlike)
        assert told.overall is Overall.PASS
        assert ("not as by a sound part" in told.found) is sheet
        assert ("unlike its class" in told.means, "three of its kind" in told.next) == (not sheet, not sheet)
        assert not STERN.search(told.next), told.next


def test_only_what_is_likely_is_advised_on_a_pass() -> None:
    first = NamedFault(id="burnt_no", title="burnt", weight=0.6, advice="Use it here.")
    lesser = NamedFault(id="film_no", title="filmed", weight=0.3, advice="Use it there.", rivals=("burnt_no",))
    told = passed("full", faults=(first, lesser))
    assert "Use it here." in told.next and "there" not in told.next and "filmed" not in told.found


MORE: dict[str, float | str] = {
    "pull_in_voltage": 6.2, "pull_in_voltage_20c": 6.1, "coil_current": 0.14, "transfer_time": 1e-3,
    "release_after_load": 2.4e-3, "release_after_hot_make": 2.4e-3, "opening_after_hot_make_nc": 3e-3,
    "flyback_peak": 68.0, "flyback_class": "bench", "contact_climb_no": 1.0, "drop_out_overdriven": 2.5,
    "winding_drift": 0.0, "first_operate_time": 6e-3, "first_drop_no": 0.02, "first_drop_nc": 0.03,
    "leakage_open_contact": 1e9, "leakage_coil_contact": 1e9, "contact_loaded_nc": 0.003,
}  # fmt: skip
"""What a usual part shows beside the readings of the diagnosis's tests."""


def complete(at: Plan, **changed: float | str | None) -> list[Finding]:
    """Every wanted reading of a usual part, some changed."""
    if at.form == "A":
        changed |= {"contact_rest": "30-87=0", "contact_operated": "30-87=1"}
    found = [one for one in readings(**MORE | changed) if one.id in at.wanted]
    assert {one.id for one in found} == set(at.wanted), set(at.wanted) - {one.id for one in found}
    return found


def worn(purpose: Purpose, mv: float, rating: str = C12) -> tuple[Verdict, tuple[NamedFault, ...]]:
    """A part whose NO loses so much at 10 A with every make; all else is as on a sound one."""
    at, ohm = plan(protocol_for("relay", purpose), rating), mv / 1e4
    changed = {"contact_drop_no": mv / 1e3, "contact_before_load_no": ohm, "contact_after_load_no": ohm}
    found = complete(at, **changed)
    faults = diagnose(at, found).faults
    return verdict(at, [judge_finding(at, one) for one in found], "complete", faults=faults), faults


def test_what_a_reading_cannot_be_told_from_has_its_title() -> None:
    _, faults = worn("quick", 310.0)
    shown = Console(file=io.StringIO(), width=200, color_system=None)
    show_faults(shown, records.record().model_copy(update={"faults": faults}))
    told = shown.file.getvalue()  # type: ignore[attr-defined]  # the StringIO of two lines above
    assert "blade 87 (on 4 terminals, or 30) or its rivet corroded" in told and "terminal no" not in told
    assert told.count("  do") + told.count("do  ") <= 1


# --- verdict and bin ---


@pytest.mark.parametrize("volts", [12, 24])
def test_a_part_that_fails_by_its_bounce_is_scrapped_by_verdict_and_bin(volts: int) -> None:
    crate = sorting("crate-relay", f"class-mini-{volts}v-form-c")
    ohm = 85.0 if volts == 12 else 320.0
    found = [
        Judged(
            id=id,
            outcome=Outcome.FAIL if id == "bounce_time_nc" else Outcome.PASS,
            reason="",
            finding=Reading(id=id, unit=MEASUREMENTS[id].unit, value=ohm if id.startswith("coil") else 0.02),
        )
        for id in crate.full.wanted
    ]
    advice = next(one.advice for one in FAULTS if one.id == "bouncing")
    bouncing = NamedFault(id="bouncing", title="", weight=0.9, advice=advice)
    assert choose(crate.rules, crate.full, found, (bouncing,)).bin is Bin.SCRAP
    unlike = Unlike(text="unlike its class", may_be=("bouncing",))
    assert choose(crate.rules, crate.full, found, (), unlike).bin is Bin.SCRAP, "its bounce failed"
    met = [one.model_copy(update={"outcome": Outcome.PASS}) for one in found]
    odd = Unlike(text="unlike its class", may_be=("sluggish",))
    assert choose(crate.rules, crate.full, met, (), odd).bin is choose(crate.rules, crate.full, met, ()).bin
    assert verdict(crate.full, found, "complete", faults=(bouncing,)).next.startswith("Scrap it")


@pytest.mark.parametrize("id", ["burnt_nc", "dead_nc", "terminal_nc", "tacking_hot_nc"])
def test_a_bad_nc_has_the_advice_of_its_bin(id: str) -> None:
    advice = next(one.advice for one in faults_of("C") if one.id == id)
    assert "87a has no wire" not in next((one.advice for one in faults_of("B") if one.id == id), ""), "its only throw"
    assert "may be sound" not in advice and not re.search("scrap", advice, re.IGNORECASE)
    assert "do not fit it" in advice.lower() and "where 87a has no wire" in advice and "'not 87a'" in advice
    whys = [rule.why for rule in sorting("crate-relay", C12).rules if "contact_drop_nc" in rule.but_for]
    assert len(whys) == 1 and all("no wire at 87a" in why and "'not 87a'" in why for why in whys)


def test_light_duty_is_worded_once() -> None:
    root = Path(__file__).parents[3]
    for name in set(crate_names()) - {"crate-pair"}:  # a fuse knows no light duty
        whys = [rule.why for rule in sorting(name, C12).rules if rule.bin is Bin.LIGHT_DUTY]
        assert whys and all(LIGHT_LOADS in why for why in whys), name
    assert LIGHT_LOADS in cautions.LIGHT_DUTY and LIGHT_LOADS in LIGHT_DUTY
    for page in ("README.md", "protocols/README.md"):
        assert LIGHT_LOADS in " ".join((root / page).read_text(encoding="utf-8").split()), page
    under_rated = next(one for one in FAULTS if one.id == "under_rated")
    assert LIGHT_LOADS in under_rated.advice_worn and under_rated.advice.startswith("Do not fit it: ")


def test_a_sound_part_with_a_diode_passes_although_its_sheet_gives_no_times() -> None:
    """A diode across the coil lengthens the release several times; here to more than the 10 ms of a bare coil."""
    given = find("good-with-diode").specimen.model_dump()
    given["coil"] |= {"resistance_ohm": 102.6, "turns": 1.15 * given["coil"]["turns"]}
    given["armature"]["return_n"] *= 0.8
    specimen = Specimen.model_validate(given)
    for at in (plan("relay-full", "panasonic-cb1f-12v-form-c"), plan("relay-quick", "class-mini-12v-form-c")):
        with Store.open(":memory:") as store, VirtualBoard(specimen, 3) as board:
            record = run_one(Task(plan=at, part=Relay(id="", form="C")), board, store, lambda _: None)
        (release,) = (one.finding for one in record.judged if one.id == "release_time")
        assert isinstance(release, Reading) and release.value is not None and 0.0105 < release.value < 0.013
        assert record.verdict.overall is Overall.PASS, record.verdict.found


@pytest.mark.parametrize(("rating", "said"), [(C12, True), ("te-k-12v-form-c", False)])
def test_what_stays_operated_may_be_a_latching_type_unless_a_makers_sheet_says_what_it_is(
    rating: str, said: bool
) -> None:
    at = plan("relay-quick", rating)
    slow = Judged(id="operate_time", outcome=Outcome.FAIL, reason="late", finding=Reading(id="operate_time", unit="s"))
    held = NamedFault(id="held_operated", title="stays operated", weight=0.99, advice="Scrap it.", evidence=())
    told = verdict(at, [slow], "complete", faults=(held,))
    assert told.overall is Overall.FAIL
    assert ("A latching type stays operated by design" in told.means) is said
