"""The ratings of makers, those that ship and those of the tests, agree with the makers' published figures."""

import pytest
from makers_sheets import COIL_TOLERANCE, OWN, SHEETS, Row, thousandth

from pulldrop.model.part.rating import Drop, OhmRange, Rating
from pulldrop.protocol.ratings.files import load_rating
from pulldrop.protocol.shipped import library


def shipped(name: str) -> Rating:
    return load_rating(library.find_rating(name))


@pytest.mark.parametrize("row", SHEETS, ids=lambda row: row.name)
def test_a_rating_is_what_the_maker_published(row: Row) -> None:
    rating = load_rating(row.file)
    assert (rating.form, rating.nominal, rating.coil_resistance) == (row.form, row.nominal_v, row.coil_ohm)
    assert rating.coil_tolerance == COIL_TOLERANCE
    assert (rating.pull_in_most, rating.drop_out_least) == (row.pull_in_v, row.drop_out_v)
    assert (rating.operate_most, rating.release_most) == (thousandth(row.operate_ms), thousandth(row.release_ms))
    assert (as_pair(rating.drop_no), as_pair(rating.drop_nc)) == (row.drop_no, row.drop_nc)
    assert (rating.contact_no, rating.contact_nc) == (row.no_a, row.nc_a)


def as_pair(drop: Drop | None) -> tuple[float, float] | None:
    return None if drop is None else (drop.most * 1000, drop.at)


def test_every_makers_rating_is_in_the_table() -> None:
    makers = {name for name in library.rating_names("relay") if not name.startswith("class-")}
    assert makers | {file.stem for file in OWN.glob("*.yaml")} == {row.name for row in SHEETS}


def test_figures_that_were_not_read_say_so() -> None:
    assert shipped("hongfa-hfv15-12v-form-c").source_of("coil_resistance").known == "second hand"
    assert shipped("te-f4-12v-form-c").source_of("coil_resistance").known == "second hand"
    assert shipped("panasonic-cb1f-12v-form-c").source_of("coil_resistance").known == "calculated"
    assert shipped("durakool-dg55-12v-form-c").source_of("drop_out_least").known == "calculated"
    assert shipped("te-k-12v-form-c").source_of("pull_in_most").known == "read"


@pytest.mark.parametrize("row", SHEETS, ids=lambda row: row.name)
def test_a_rating_states_a_suppression_where_its_sheet_names_one_and_nowhere_else(row: Row) -> None:
    # Durakool DG55: 1.8 W with the resistor. Panasonic CB, ds_61202: "D: with diode inside", "R: with resistor inside".
    rating = load_rating(row.file)
    assert rating.suppression == row.suppression
    for kind in ("resistor", "diode"):
        assert (f"with {kind}" in rating.title) == (row.suppression == kind)


def test_a_class_states_no_suppression() -> None:
    classes = [name for name in library.rating_names("relay") if name.startswith("class-")]
    assert classes and all(shipped(name).suppression is None for name in classes)


def test_the_panasonic_coil_is_its_volts_over_its_amps() -> None:
    # Panasonic CB data sheet: 117 mA at 12 V (read).
    assert shipped("panasonic-cb1f-12v-form-c").coil_resistance == pytest.approx(12 / 0.117, abs=0.05)


@pytest.mark.parametrize(
    ("name", "least_ohm", "most_ohm"),
    [
        ("class-mini-12v-form-a", 60, 120),  # common practice
        ("class-mini-12v-form-b", 60, 120),  # common practice
        ("class-mini-12v-form-c", 60, 120),  # common practice
        ("class-mini-24v-form-a", 250, 400),  # common practice
        ("class-mini-24v-form-c", 250, 400),  # common practice
        ("class-micro-12v-form-a", 0.9 * 80, 1.1 * 120),  # calculated: Foocles 80, CIT A1 96 and 120 ohm, each 10 %
        ("class-micro-12v-form-c", 0.9 * 80, 1.1 * 120),
    ],
)
def test_a_class_spans_the_coils_that_its_source_names(name: str, least_ohm: float, most_ohm: float) -> None:
    coil = shipped(name).coil_resistance
    assert isinstance(coil, OhmRange)
    assert (coil.least, coil.most) == (pytest.approx(least_ohm), pytest.approx(most_ohm))


@pytest.mark.parametrize("name", [n for n in library.rating_names("relay") if n.startswith("class-")])
def test_a_class_keeps_the_figures_of_common_practice(name: str) -> None:
    rating = shipped(name)
    assert rating.pull_in_most == pytest.approx(0.70 * rating.nominal)  # at most 60 to 70 % of nominal
    assert rating.drop_out_least == pytest.approx(0.10 * rating.nominal)  # at least 10 %
    assert (rating.operate_most, rating.release_most) == (0.01, 0.01)
    assert rating.drop_no is None and rating.drop_nc is None  # no maker's promise: the scale of contact drop holds


@pytest.mark.parametrize("row", [r for r in SHEETS if r.pull_in_v and r.drop_out_v], ids=lambda row: row.name)
def test_no_maker_promises_less_than_common_practice(row: Row) -> None:
    assert row.pull_in_v and row.drop_out_v
    assert row.pull_in_v <= 0.7 * row.nominal_v + 1e-9
    assert row.drop_out_v >= 0.1 * row.nominal_v - 1e-9
