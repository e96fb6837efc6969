"""Laws of a vehicle's elements against published figures."""

import pytest

from pulldrop.plant.vehicle.circuit import solve
from pulldrop.plant.vehicle.elements import Battery, Cable, Element, Fuse, Lamp, Moment, Ohmic

NOW = Moment()


def lamp(watts: float, volts: float, a: str = "a", b: str = "b") -> Lamp:
    return Lamp(kind="lamp", name="lamp", a=a, b=b, watts=watts, volts=volts)


@pytest.mark.parametrize(
    ("mm2", "most_ohm_per_m"),
    [
        (0.5, 39.0e-3),
        (0.75, 26.0e-3),
        (1, 19.5e-3),
        (1.5, 13.3e-3),
        (2.5, 7.98e-3),
        (4, 4.95e-3),
        (6, 3.30e-3),
        (10, 1.91e-3),
    ],
)
def test_a_cable_has_the_ohms_of_iec_60228(mm2: float, most_ohm_per_m: float) -> None:
    """Highest resistance at 20 degC of flexible conductors, class 5, plain copper."""
    one = Cable(kind="cable", name="wire", a="a", b="b", metre=1, mm2=mm2)
    assert one.ohm_at(NOW) == pytest.approx(most_ohm_per_m, rel=0.04)


@pytest.mark.parametrize(
    ("rated_a", "cold_ohm"),
    [(5, 17.85e-3), (7.5, 10.91e-3), (10, 7.70e-3), (15, 4.80e-3), (20, 3.38e-3), (30, 1.97e-3)],
)
def test_a_blade_fuse_has_the_cold_ohms_of_a_makers_sheet(rated_a: float, cold_ohm: float) -> None:
    """Littelfuse ATOF 287, typical, as quoted by two projects."""
    one = Fuse(kind="fuse", name="fuse", a="a", b="b", rated_a=rated_a, clips_ohm=0)
    assert one.ohm_at(NOW) == pytest.approx(cold_ohm, rel=1e-6)


@pytest.mark.parametrize(("volts", "milliamps"), [(0.5, 4.5), (1.39, 7.4), (28, 40)])
def test_a_lamp_of_28_v_40_ma_draws_what_was_measured(volts: float, milliamps: float) -> None:
    """R. Elliott's measurements of a lamp #327, down to 2 % of its rated volts, as quoted elsewhere."""
    amps, _ = lamp(28 * 0.04, 28).law(volts, NOW)
    assert amps == pytest.approx(milliamps / 1e3, rel=0.04)


def test_a_lamp_takes_a_fifth_more_power_at_13_5_v() -> None:
    """P ~ V^1.6 in Fink and Beaty's handbook, as quoted elsewhere: 1.207; volts times amps go with V^1.55 here."""
    assert lamp(55, 12).law(13.5, NOW)[0] * 13.5 / 55 == pytest.approx(1.207, rel=0.01)


@pytest.mark.parametrize(
    ("watts", "volts", "least_cold", "most_cold"), [(68, 13.2, 0.17, 0.20), (25, 13.5, 0.49, 0.56)]
)
def test_a_cold_filament_looks_like_a_short(watts: float, volts: float, least_cold: float, most_cold: float) -> None:
    """An H1 and a lamp of 21 W at what R37 lets them take, cold by tungsten's ratio of Forsythe and Worthing, 1925."""
    assert least_cold <= lamp(watts, volts).filament.cold_ohm <= most_cold


@pytest.mark.parametrize(
    ("watts", "rated_v", "on_the_coil_v"),
    [
        (1.2, 12, 6.3),
        (2, 12, 8.4),
        (3, 13.5, 9.3),
        (4, 13.5, 10.2),
        (5, 13.5, 10.9),
        (10, 13.5, 12.0),
        (21, 13.5, 12.5),
    ],
)
def test_a_lamp_in_the_way_leaves_these_volts_to_a_coil(watts: float, rated_v: float, on_the_coil_v: float) -> None:
    """A filament in series with a coil of 90 ohm at 12.6 V, calculated elsewhere from I = I0 (V/V0)^0.55: a coil
    alone does not show a lamp of 4 W or more in a feed. The source does not say at which volts the watts are rated; it
    agrees with 12 V for panel lamps and 13.5 V for the others, as types are rated. A handbook's exponent holds near
    rated volts; these lamps stand far below, where tungsten itself leaves the coil up to 0.21 V more or less."""
    circuit: tuple[Element, ...] = (
        Battery(kind="battery", name="battery", a="plus", b="minus", volts=12.6, ohm=1e-6),
        lamp(watts, rated_v, "plus", "coil"),
        Ohmic(kind="coil", name="coil", a="coil", b="minus", ohm=90),
    )
    assert solve(circuit, "minus").volts["coil"] == pytest.approx(on_the_coil_v, abs=0.22)
