"""A protocol bound to a rating: every limit a number with its source, nothing scaled, nothing silent."""

from typing import Any

import pytest

from pulldrop.model.part.rating import IN_SI, Form, Rating
from pulldrop.model.part.relay import FORMS
from pulldrop.model.run.plan import Plan
from pulldrop.protocol.bind import bind
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.protocol.expression import BadLimit, parse
from pulldrop.protocol.limits import check
from pulldrop.protocol.load import plan as shipped
from pulldrop.protocol.shape import Protocol
from pulldrop.protocol.shipped import library, purposes

RELAY = tuple(one.name for one in purposes.shipped() if one.kind == "relay")

STEPS = (
    {"measure": "coil"},
    {"measure": "thresholds"},
    {"measure": "timing", "coil": "13.5 V"},
    {"measure": "contact", "coil": "13.5 V", "load": "10 A"},
)


def rating(**figures: Any) -> Rating:
    """An invented changeover relay of the depot's shelf."""
    given = {"rating": "depot", "title": "invented", "source": "assumed: invented", "kind": "relay"}
    given |= {"form": "C", "nominal": "12 V"}
    return Rating.model_validate({**given, **figures})


def plan(limits: dict[str, Any], of: Rating, **changed: Any) -> Plan:
    written = {
        "protocol": "crate",
        "version": 1,
        "title": "invented",
        "kind": "relay",
        "source": "common practice: the depot's own",
        "steps": STEPS,
        "limits": limits,
    }
    return bind(Protocol.model_validate({**written, **changed}), of, "text of the file", {})


def one(id: str, written: str, of: Rating) -> tuple[float | None, float | None, str]:
    limit = plan({id: written}, of).limits[id]
    return limit.low, limit.high, limit.text


@pytest.mark.parametrize(
    ("id", "written", "low", "high", "text"),
    [
        ("contact_drop_no", "<= 300 mV", None, 0.3, "<= 300 mV"),
        ("pull_in_voltage", "<= 70 % of nominal", None, 8.4, "<= 8.40 V (70 % of nominal 12 V)"),
        ("drop_out_voltage", ">= 10 % of nominal", 1.2, None, ">= 1.20 V (10 % of nominal 12 V)"),
        ("coil_resistance", "60 ohm .. 120 ohm", 60, 120, "60.0 ohm .. 120 ohm"),
        ("coil_resistance_20c", "rated +-10 %", 76.5, 93.5, "76.5 ohm .. 93.5 ohm (rated 85.0 ohm +-10 %)"),
        ("coil_resistance_20c", "rated +- tolerance", 80.75, 89.25, "80.8 ohm .. 89.2 ohm (rated 85.0 ohm +-5 %)"),
        ("coil_resistance_20c", "rated +- 4 ohm", 81, 89, "81.0 ohm .. 89.0 ohm (rated 85.0 ohm +-4.00 ohm)"),
        ("coil_resistance_20c", ">= 80 % of rated", 68, None, ">= 68.0 ohm (80 % of rated 85.0 ohm)"),
        ("coil_resistance_20c", "100 ohm +- 20 %", 80, 120, "80.0 ohm .. 120 ohm (100 ohm +-20 %)"),
        ("pull_in_voltage", "<= rated", None, 7.8, "<= 7.80 V (rated)"),
        ("pull_in_voltage_20c", "<= rated", None, 7.8, "<= 7.80 V (rated)"),
        ("drop_out_voltage", ">= rated", 1.1, None, ">= 1.10 V (rated)"),
        ("operate_time", "<= rated", None, 0.007, "<= 7.00 ms (rated)"),
        ("release_time", "<= 150 % of rated", None, 0.0075, "<= 7.50 ms (150 % of rated 5.00 ms)"),
        ("contact_drop_no", "<= rated", None, 0.2, "<= 200 mV (rated)"),
        ("pull_in_voltage", "30 % of nominal .. rated", 3.6, 7.8, "3.60 V .. 7.80 V (30 % of nominal 12 V; rated)"),
        ("operate_time", "<= rated else 10 ms", None, 0.007, "<= 7.00 ms (rated)"),
    ],
)
def test_each_form_of_limit_becomes_numbers_and_a_text(
    id: str, written: str, low: float | None, high: float | None, text: str
) -> None:
    sheet = rating(
        coil_resistance="85 ohm",
        coil_tolerance="5 %",
        pull_in_most="7.8 V",
        drop_out_least="1.1 V",
        operate_most="7 ms",
        release_most="5 ms",
        drop_no={"most": "200 mV", "at": "10 A"},
    )
    assert one(id, written, sheet) == (pytest.approx(low), pytest.approx(high), text)


@pytest.mark.parametrize(
    ("form", "rest", "operated"),
    [("A", "30-87 open", "30-87 closed"), ("C", "30-87 open, 30-87a closed", "30-87 closed, 30-87a open")],
)
def test_a_contact_state_is_that_of_the_parts_form(form: Form, rest: str, operated: str) -> None:
    made = plan({"contact_rest": "at rest", "contact_operated": "operated"}, rating(form=form)).limits
    assert [limit.text for limit in made.values()] == [rest, operated]
    assert [limit.state for limit in made.values()] == [FORMS[form].at("rest"), FORMS[form].at("operated")]


def test_limits_of_a_throw_that_the_part_lacks_do_not_apply_and_nothing_is_said_of_them() -> None:
    limits = {"contact_drop_no": "<= 200 mV", "contact_drop_nc": "<= 200 mV", "bounce_time_nc": "<= 5 ms"}
    four, five = plan(limits, rating(form="A")), plan(limits, rating())
    assert list(five.limits) == list(limits) and four.limits == {"contact_drop_no": five.limits["contact_drop_no"]}
    assert four.unlimited == five.unlimited == {}


def test_the_range_of_a_class_is_a_limit_as_it_is_written() -> None:
    made = one("coil_resistance_20c", "rated +- tolerance", rating(coil_resistance="60 ohm .. 120 ohm"))
    assert made == (60.0, 120.0, "60 ohm .. 120 ohm (rated)")


@pytest.mark.parametrize("written", ["rated +- 10 %", ">= 80 % of rated"])
def test_a_range_has_no_centre_to_take_a_share_of(written: str) -> None:
    bound = plan({"coil_resistance_20c": written}, rating(coil_resistance="60 ohm .. 120 ohm"))
    assert "gives a range" in bound.unlimited["coil_resistance_20c"]


def test_a_source_of_its_own_goes_before_the_ratings_and_the_protocols() -> None:
    sheet = rating(pull_in_most="7.8 V", operate_most="7 ms", figures={"pull_in_most": "read: the sheet's table 2"})
    bound = plan(
        {
            "pull_in_voltage": "<= rated",
            "operate_time": "<= rated",
            "drop_out_voltage": ">= 10 % of nominal",
            "release_time": {"limit": "<= 10 ms", "source": "from memory: an old catalogue"},
        },
        sheet,
    )
    sources = {id: f"{limit.source.known}: {limit.source.text}" for id, limit in bound.limits.items()}
    assert sources == {
        "pull_in_voltage": "read: the sheet's table 2",
        "operate_time": "assumed: invented",
        "drop_out_voltage": "common practice: the depot's own",
        "release_time": "from memory: an old catalogue",
    }


@pytest.mark.parametrize(
    ("id", "written", "figure"),
    [
        ("pull_in_voltage", "<= rated", "pull_in_most"),
        ("drop_out_voltage", ">= rated", "drop_out_least"),
        ("operate_time", "<= rated", "operate_most"),
        ("contact_drop_nc", "<= rated", "drop_nc"),
        ("coil_resistance_20c", "rated +- tolerance", "coil_resistance"),
    ],
)
def test_a_figure_that_the_rating_lacks_makes_no_limit_and_the_plan_says_so(id: str, written: str, figure: str) -> None:
    bound = plan({id: written}, rating())
    assert bound.limits == {}
    assert f"gives no '{figure}'" in bound.unlimited[id]
    assert id in bound.wanted


def test_a_coil_without_a_tolerance_has_no_limit_from_it() -> None:
    bound = plan({"coil_resistance_20c": "rated +- tolerance"}, rating(coil_resistance="85 ohm"))
    assert "no tolerance" in bound.unlimited["coil_resistance_20c"]


def test_a_drop_rated_at_another_load_is_never_scaled() -> None:
    bound = plan({"contact_drop_no": "<= rated"}, rating(drop_no={"most": "100 mV", "at": "1 A"}))
    assert bound.limits == {}
    assert "at 1 A and the protocol loads with 10 A" in bound.unlimited["contact_drop_no"]


def test_what_stands_after_else_holds_when_the_figure_is_lacking_and_is_the_protocols_own() -> None:
    bound = plan({"pull_in_voltage": "<= rated else 70 % of nominal"}, rating())
    assert bound.limits["pull_in_voltage"].text == "<= 8.40 V (70 % of nominal 12 V)"
    assert bound.limits["pull_in_voltage"].source.text == "the depot's own"
    assert bound.unlimited == {}


def test_a_span_that_the_rating_turns_upside_down_is_no_limit() -> None:
    bound = plan({"pull_in_voltage": "70 % of nominal .. rated"}, rating(pull_in_most="7.8 V"))
    assert "not below" in bound.unlimited["pull_in_voltage"]


@pytest.mark.parametrize(
    ("id", "written", "says"),
    [
        ("operate_time", "<= 10 V", "the limit is in V; expected s"),
        ("operate_time", "<= 50 % of nominal", "share of the nominal coil voltage"),
        ("operate_time", ">= rated", "expected '<= rated'"),
        ("drop_out_voltage", "<= rated", "expected '>= rated'"),
        ("operate_time", "rated +- 10 %", "expected '<= rated'"),
        ("bounce_time_no", "<= rated", "gives no figure"),
        ("coil_resistance", "rated +- 10 %", "coil_resistance_20c"),
        ("coil_resistance", "85 ohm +- tolerance", "expected 'rated' before it"),
        ("coil_resistance", "85 ohm +- 5 V", "the spread is in V; expected ohm or %"),
        ("coil_resistance", "at rest", "expected a limit in ohm"),
        ("contact_rest", "<= 5 V", "a contact state has no number"),
        ("flyback_class", "at rest", "has no limit"),
        ("operate_time", "<= rated else 5 V", "the limit is in V"),
    ],
)
def test_a_limit_that_means_nothing_for_its_measurement_is_refused(id: str, written: str, says: str) -> None:
    with pytest.raises(BadLimit) as bad:
        check(parse(written), id, 10.0)
    assert says in str(bad.value)


def test_a_rating_of_another_kind_is_refused_with_a_sentence() -> None:
    with pytest.raises(DoesNotFit, match="is for a relay, the rating 'depot' for a fuse; take"):
        plan({}, rating().model_copy(update={"kind": "fuse"}))


@pytest.mark.parametrize(
    ("nominal", "step", "says"),
    [
        ("24 V", {"measure": "timing", "coil": "13.5 V"}, "puts 13.5 V on a coil of 24 V; expected 16.8 to 36 V"),
        ("12 V", {"measure": "timing", "coil": "27 V"}, "puts 27 V on a coil of 12 V; expected 8.4 to 18 V"),
        ("12 V", {"measure": "overdrive", "full": "27 V"}, "'overdrive' of 'crate' puts 27 V on a coil of 12 V"),
        ("12 V", {"measure": "coil", "at": "24 V"}, "puts 24 V on a coil of 12 V; expected 0 to 18 V"),
    ],
)
def test_volts_of_another_system_are_refused_with_a_sentence(nominal: str, step: dict[str, str], says: str) -> None:
    with pytest.raises(DoesNotFit, match=says):
        plan({}, rating(nominal=nominal), steps=(step,))


def test_a_coil_that_the_bench_cannot_feed_is_refused() -> None:
    with pytest.raises(DoesNotFit, match=r"may draw 375 mA at 13.5 V; .* 0.3 A at most"):
        plan({}, rating(coil_resistance="40 ohm", coil_tolerance="10 %"))
    assert plan({}, rating(coil_resistance="50 ohm", coil_tolerance="10 %")).steps


def test_all_that_the_steps_give_is_wanted_and_nc_only_of_a_changeover() -> None:
    assert len(plan({}, rating()).wanted) == 17
    four = plan({}, rating(form="A"))
    assert len(four.wanted) == 14
    assert not {"bounce_time_nc", "transfer_time", "contact_drop_nc"} & set(four.wanted)
    assert plan({}, rating(), steps=STEPS[:1]).wanted == (
        "contact_rest",
        "first_operate_time",
        "coil_resistance",
        "coil_resistance_20c",
        "coil_current",
    )


def test_a_plan_keeps_the_text_of_its_protocol_and_can_be_read_back() -> None:
    bound = plan(
        {"pull_in_voltage": "<= rated", "operate_time": "<= 10 ms"}, rating(drop_no={"most": "1 V", "at": "1 A"})
    )
    assert bound.text == "text of the file"
    assert len(bound.sha256) == 64
    assert Plan.model_validate_json(bound.model_dump_json(), context=IN_SI) == bound


def volts_of(made: Plan, kind: str) -> float:
    return next(float(step.coil) for step in made.steps if step.measure == kind)  # type: ignore[union-attr]


def test_times_that_a_maker_promises_are_taken_at_nominal_volts() -> None:
    made = plan({"release_time": "<= rated else 10 ms"}, rating(source="read: a maker's sheet", release_most="5 ms"))
    assert volts_of(made, "timing") == 12.0
    assert volts_of(made, "contact") == 13.5, "what is not timed keeps its volts"


def test_times_of_a_class_are_taken_at_nominal_volts_too_for_makers_give_them_there() -> None:
    """At 13.5 V a part operates 12 % sooner than at 12 V, so a limit of makers would let slow ones pass."""
    limits = {"operate_time": "<= rated else 10 ms"}
    common = rating(source="common practice: in service", operate_most="10 ms")
    assert volts_of(plan(limits, common), "timing") == 12.0
    assert volts_of(plan(limits, rating(source="read: a maker's sheet")), "timing") == 13.5, "the protocol's own limit"


TIMED = [name for name in RELAY if "measure: timing" in library.find(name).read_text()]


@pytest.mark.parametrize("name", TIMED)
@pytest.mark.parametrize("of", library.rating_names("relay"))
def test_shipped_protocols_time_at_nominal_and_let_a_release_take_10_ms_unless_the_rating_says(
    name: str, of: str
) -> None:
    made = shipped(name, of)
    assert {step.coil for step in made.steps if step.timed} == {made.rating.nominal}  # type: ignore[attr-defined]
    assert made.limits["release_time"].high in (10e-3, made.rating.release_most)
