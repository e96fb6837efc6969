"""The shipped ratings of makers agree with the makers' published figures.

How each row is known: READ in the maker's data sheet or a distributor's copy of it, unless a note beside it says
otherwise. Coils are within 10 % either way in all of these sheets. None: the sheet gives no such figure, or only a
typical one, which is no limit.
"""

from dataclasses import dataclass

import pytest

from pulldrop.model.rating import Drop, Rating
from pulldrop.protocol import library
from pulldrop.protocol.load import load_rating


@dataclass(frozen=True)
class Row:
    """One line of a sheet, in its own units: ohm, volts, milliseconds, (millivolts, amps), amps."""

    name: str
    form: str
    nominal_v: float
    coil_ohm: float
    pull_in_v: float | None
    drop_out_v: float | None
    operate_ms: float | None
    release_ms: float | None
    drop_no: tuple[float, float] | None
    drop_nc: tuple[float, float] | None
    no_a: float
    nc_a: float | None


SHEETS = [
    # Hongfa HFV4: 100 mohm at 1 A 6 V, hence 100 mV at 1 A (calculated). NO 40 A; changeover 30/20 A.
    Row("hongfa-hfv4-12v-form-a", "A", 12, 85, 7.8, 1.2, 7, 5, (100, 1), None, 40, None),
    Row("hongfa-hfv4-12v-form-c", "C", 12, 85, 7.8, 1.2, 7, 5, (100, 1), (100, 1), 30, 20),
    Row("hongfa-hfv4-24v-form-a", "A", 24, 350, 15.6, 2.4, 7, 5, (100, 1), None, 40, None),
    Row("hongfa-hfv4-24v-form-c", "C", 24, 350, 15.6, 2.4, 7, 5, (100, 1), (100, 1), 30, 20),
    # Hongfa HFV15: coil second hand, from a distributor; currents at 85 degC.
    Row("hongfa-hfv15-12v-form-c", "C", 12, 90, None, None, 10, 10, (250, 10), (250, 10), 40, 30),
    # TE Power Relay F4: coil second hand, from a distributor; times are typical ones only; currents at 85 degC.
    Row("te-f4-12v-form-c", "C", 12, 90, None, None, None, None, (200, 10), (250, 10), 40, 30),
    # TE Power Relay K: times are typical ones only.
    Row("te-k-12v-form-c", "C", 12, 90, 6.9, 1.2, None, None, (300, 10), (300, 10), 45, 30),
    # Panasonic CB1F-D-12V: coil calculated from 117 mA at 12 V; that it is a changeover is from memory.
    Row("panasonic-cb1f-12v-form-c", "C", 12, 102.6, 7.0, 1.2, None, None, None, None, 40, None),
    # CIT A2, two coils for each voltage; contact resistance without its current, hence no drop.
    Row("cit-a2-12v-90ohm-form-c", "C", 12, 90, 8.4, 1.2, 7, 5, None, None, 40, 30),
    Row("cit-a2-12v-76ohm-form-c", "C", 12, 75.8, 8.4, 1.2, 7, 5, None, None, 40, 30),
    Row("cit-a2-24v-360ohm-form-c", "C", 24, 360, 16.8, 2.4, 7, 5, None, None, 20, 15),
    Row("cit-a2-24v-303ohm-form-c", "C", 24, 303.2, 16.8, 2.4, 7, 5, None, None, 20, 15),
    # CIT A1 micro, two coils.
    Row("cit-a1-12v-120ohm-form-c", "C", 12, 120, 8.4, 1.2, 10, 7, None, None, 20, None),
    Row("cit-a1-12v-96ohm-form-c", "C", 12, 96, 8.4, 1.2, 10, 7, None, None, 20, None),
    Row("foocles-micro-12v-form-c", "C", 12, 80, 8.4, 1.2, 10, 5, None, None, 30, 20),
    # Durakool DG55: 1.8 W with its resistor, hence 80 ohm at 12 V, and 0.1 of nominal (calculated); times typical.
    Row("durakool-dg55-12v-form-a", "A", 12, 80, None, 1.2, None, None, None, None, 40, None),
    Row("durakool-dg55-12v-form-c", "C", 12, 80, None, 1.2, None, None, None, None, 40, 30),
    Row("oen-79-12v-form-c", "C", 12, 75, 8, None, 10, 7, (50, 10), None, 25, 10),
]


def shipped(name: str) -> Rating:
    return load_rating(library.find_rating(name))


@pytest.mark.parametrize("row", SHEETS, ids=lambda row: row.name)
def test_a_shipped_rating_is_what_the_maker_published(row: Row) -> None:
    rating = shipped(row.name)
    assert (rating.form, rating.nominal, rating.coil_resistance) == (row.form, row.nominal_v, row.coil_ohm)
    assert rating.coil_tolerance == 10
    assert (rating.pull_in_most, rating.drop_out_least) == (row.pull_in_v, row.drop_out_v)
    assert (rating.operate_most, rating.release_most) == (in_s(row.operate_ms), in_s(row.release_ms))
    assert (as_pair(rating.drop_no), as_pair(rating.drop_nc)) == (row.drop_no, row.drop_nc)
    assert (rating.contact_no, rating.contact_nc) == (row.no_a, row.nc_a)


def in_s(ms: float | None) -> float | None:
    return None if ms is None else ms / 1000


def as_pair(drop: Drop | None) -> tuple[float, float] | None:
    return None if drop is None else (drop.most * 1000, drop.at)


def test_every_makers_rating_that_ships_is_in_the_table() -> None:
    makers = {name for name in library.rating_names() if not name.startswith("class-")}
    assert makers == {row.name for row in SHEETS}


def test_figures_that_were_not_read_say_so() -> None:
    assert shipped("hongfa-hfv15-12v-form-c").source_of("coil_resistance").known == "second hand"
    assert shipped("te-f4-12v-form-c").source_of("coil_resistance").known == "second hand"
    assert shipped("panasonic-cb1f-12v-form-c").source_of("coil_resistance").known == "calculated"
    assert shipped("durakool-dg55-12v-form-c").source_of("drop_out_least").known == "calculated"
    assert shipped("te-k-12v-form-c").source_of("pull_in_most").known == "read"


@pytest.mark.parametrize("name", library.rating_names())
def test_a_rating_states_a_suppression_where_its_sheet_names_one_and_nowhere_else(name: str) -> None:
    # Durakool DG55 data sheet (read): 1.8 W with the resistor. Panasonic CB1F-D-12V: D probably is a diode, not read.
    wanted = "resistor" if name.startswith("durakool") else None
    assert shipped(name).suppression == wanted
    assert ("with resistor" in shipped(name).title) == (wanted == "resistor")


def test_the_panasonic_coil_is_its_volts_over_its_amps() -> None:
    # Panasonic CB data sheet: 117 mA at 12 V (read).
    assert shipped("panasonic-cb1f-12v-form-c").coil_resistance == pytest.approx(12 / 0.117, abs=0.05)


@pytest.mark.parametrize(
    ("name", "least_ohm", "most_ohm"),
    [
        ("class-mini-12v-form-a", 60, 120),  # common practice
        ("class-mini-12v-form-c", 60, 120),  # common practice
        ("class-mini-24v-form-a", 250, 400),  # common practice
        ("class-mini-24v-form-c", 250, 400),  # common practice
        ("class-micro-12v-form-a", 0.9 * 80, 1.1 * 120),  # calculated: Foocles 80, CIT A1 96 and 120 ohm, each 10 %
        ("class-micro-12v-form-c", 0.9 * 80, 1.1 * 120),
    ],
)
def test_a_class_spans_the_coils_that_its_source_names(name: str, least_ohm: float, most_ohm: float) -> None:
    rating = shipped(name)
    assert rating.coil_resistance and rating.coil_tolerance
    half = rating.coil_resistance * rating.coil_tolerance / 100
    assert rating.coil_resistance - half == pytest.approx(least_ohm, abs=0.1)
    assert rating.coil_resistance + half == pytest.approx(most_ohm, abs=0.1)


@pytest.mark.parametrize("name", [n for n in library.rating_names() if n.startswith("class-")])
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
