"""The specimens that ship: every one loads, says that it is invented, and differs from a sound part where it should."""

import pytest
from plant_steps import drop_out, held, make_and_break, pull_in
from pydantic import ValidationError

from pulldrop.plant import stock
from pulldrop.plant.relay.classes import CLASSES
from pulldrop.plant.relay.relay import NC, NO, RelayModel
from pulldrop.plant.specimen import Specimen, parts
from pulldrop.text.document import parse
from pulldrop.text.shape import fit


def taken(name: str) -> Specimen:
    """One specimen from stock."""
    return fit(parse(stock.text(name), name), Specimen)


@pytest.mark.parametrize("name", stock.names())
def test_every_specimen_in_stock_loads_and_says_that_it_is_invented(name: str) -> None:
    specimen = taken(name)
    assert specimen.invented
    assert "heritage bus depot" in specimen.donor
    assert "nvented" in stock.text(name).splitlines()[0]
    assert specimen.notes


def test_stock_holds_good_parts_of_every_class_and_a_dozen_more() -> None:
    assert {taken(name).base for name in stock.names() if name.startswith("good")} == set(CLASSES)
    assert len(stock.names()) >= 12


def test_a_name_that_is_not_in_stock_is_an_error() -> None:
    with pytest.raises(KeyError):
        stock.text("../bench")


def test_the_weak_spring_lets_go_below_a_tenth_of_nominal() -> None:
    assert drop_out(taken("weak-spring")) < 1.2


def test_the_sluggish_part_pulls_in_too_late() -> None:
    assert pull_in(taken("sluggish"))[0] > 8.4
    assert (
        make_and_break(taken("sluggish"))[0].operate_ms
        > 1.3 * make_and_break(taken("good-12v-changeover"))[0].operate_ms
    )


def test_the_bouncing_part_bounces_for_longer_than_5_ms_and_the_sound_one_does_not() -> None:
    assert make_and_break(taken("bouncing"))[1].bounce_ms(NC) > 5.0
    assert make_and_break(taken("good-12v-changeover"))[1].bounce_ms(NC) < 3.0


def test_the_24_volt_part_does_not_pull_in_at_12_volts() -> None:
    part = taken("wrong-coil-voltage")
    assert part.nominal_v == 12
    assert not held(part, 13.5).relay.touching[NO]


def test_the_welded_part_is_closed_before_anything_is_switched() -> None:
    relay = RelayModel(parts(taken("welded-no")), 23.0)
    assert relay.touching == (True, False)


def test_a_specimen_starts_from_its_base_and_keeps_what_it_does_not_say() -> None:
    part = Specimen.model_validate({"title": "x", "base": "mini_24v_changeover", "coil": {"turns": 4000}})
    assert part.coil.turns == 4000
    assert part.coil.resistance_ohm == CLASSES["mini_24v_changeover"]["coil"]["resistance_ohm"]
    assert part.nominal_v == 24


@pytest.mark.parametrize(
    "given",
    [
        {"title": "x", "colour": "red"},
        {"title": "x", "coil": {"turn": 1}},
        {"title": "x", "coil": {"turns": float("nan")}},
        {"title": "x", "coil": {"resistance_ohm": -1}},
        {"title": "x", "base": "maxi"},
        {"title": "x", "coil": 5},
        {"title": "x", "faults": {"welded": "87"}},
        {},
        [],
    ],
)
def test_a_specimen_that_makes_no_sense_is_refused(given: object) -> None:
    with pytest.raises(ValidationError):
        Specimen.model_validate(given)


def test_every_field_of_a_specimen_is_described_for_editors() -> None:
    schema = Specimen.model_json_schema()
    for shape in (schema, *schema["$defs"].values()):
        for name, field in shape["properties"].items():
            assert field.get("description"), f"{shape['title']}.{name}"
