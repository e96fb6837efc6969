"""Suppression in the plant against makers' figures: what it does to the coil as measured, and to the release."""

import pytest

from pulldrop.plant.relay.classes import CLASSES, Base
from pulldrop.plant.relay.relay import NO, RelayModel
from pulldrop.plant.relay.suppression import NOMINAL, Harness
from pulldrop.plant.specimen import Specimen, parts

COIL_OHM, SUPPLY_V = 55.0, 13.5
"""Inputs of TE Connectivity's note 13C3311 on coil suppression."""
UNCLAMPED = Harness(tvs_v=1e4)
"""A coil that opens into nothing at all."""
BASE = "mini_12v_normally_open"
FITTED = {
    "base": BASE,
    "coil": {
        "resistance_ohm": COIL_OHM, "turns": 1351, "pole_area_mm2": 78.0, "residual_gap_mm": 0.0262,
        "iron_reluctance": 1.70e6, "saturation_t": 0.4645, "eddy_s": 2301, "leakage_mh": 5.16,
    },
    "armature": {
        "travel_mm": 1.648, "mass_g": 1.036, "return_n": 0.361, "return_n_per_mm": 0.1133, "leaf_n_per_mm": 4.879,
        "contact_g": 0.3254, "overtravel_mm": 0.495, "restitution": 0.112, "contact_damping_s_per_m": 0.518,
    },
}  # fmt: skip
"""One part of that coil, fitted to the times below taken together: one set of springs, masses and iron for all nine."""


def part(kind: str = "none", coil_ohm: float = COIL_OHM, **suppression: float) -> Specimen:
    """The fitted part, with another resistance of its winding if asked for."""
    given = FITTED | {"coil": FITTED["coil"] | {"resistance_ohm": coil_ohm}}
    return Specimen.model_validate(given | {"title": kind, "suppression": {"kind": kind, **suppression}})


def held(specimen: Specimen, volts: float = SUPPLY_V, harness: Harness = NOMINAL) -> RelayModel:
    """The relay with its coil on and at rest."""
    relay = RelayModel(parts(specimen), 20.0, None, harness)
    relay.drive(volts, switch=True, diode=False)
    relay.advance(0.5)
    return relay


def release_ms(specimen: Specimen, diode: bool = False) -> float:
    """Coil off to the first opening of NO."""
    relay = held(specimen)
    relay.drive(SUPPLY_V, switch=True, diode=diode)
    off_at = relay.t
    relay.drive(SUPPLY_V, switch=False, diode=diode)
    return next((at - off_at) * 1e3 for at, throw, closed in relay.advance(off_at + 0.05) if throw == NO and not closed)


@pytest.mark.parametrize(("coil_ohm", "resistor_ohm", "expected_ohm"), [(80, 680, 71.6), (320, 2700, 286)])
def test_a_resistor_across_the_coil_is_measured_with_it(
    coil_ohm: float, resistor_ohm: float, expected_ohm: float
) -> None:
    """Foocles micro relay page: read, recalculated 71.579 and 286.093."""
    around = held(part("resistor", coil_ohm, resistor_ohm=resistor_ohm)).circuit()
    assert (around.plus_v - around.low_side_v) / around.supply_a == pytest.approx(expected_ohm, rel=1e-3)


def test_the_makers_two_coil_currents_differ_by_a_resistor_of_680_ohm() -> None:
    """Panasonic CB data sheet: CB1F-D-12V 117 mA, CB1V-R-12V 134 mA at 12 V: read; 680 ohm is inferred."""
    plain, with_resistor = part("none", 102.6), part("resistor", 102.6, resistor_ohm=680)
    for specimen, milliamps in ((plain, 117), (with_resistor, 134)):
        around = held(specimen, 12.0).circuit()
        coil_v = around.plus_v - around.low_side_v
        assert around.supply_a * 12.0 / coil_v * 1e3 == pytest.approx(milliamps, abs=1.0)


@pytest.mark.parametrize(
    ("resistor_ohm", "volts"), [(680, 166.9), (470, 115.4), (330, 81.0), (220, 54.0), (100, 24.5), (82, 20.1)]
)
def test_opening_into_a_resistor_throws_up_current_times_resistance(resistor_ohm: float, volts: float) -> None:
    """55 ohm at 13.5 V: V = I R at the first moment, inputs as in TE's note 13C3311; calculated. The bench's clamp
    cuts what is over 68 V, so that is without it."""
    harness = NOMINAL if volts < NOMINAL.tvs_v else UNCLAMPED
    relay = held(part("resistor", resistor_ohm=resistor_ohm), harness=harness)
    relay.i = SUPPLY_V / COIL_OHM  # exactly, although the switch of the bench takes its share
    relay.drive(SUPPLY_V, switch=False, diode=False)
    around = relay.circuit()
    assert around.low_side_v - around.plus_v == pytest.approx(volts, rel=0.01)


def test_release_times_come_in_the_published_order() -> None:
    """TE note 13C3311: 1.5, 1.9, 2.3, 2.8, 3.2, 3.7, 5.5, 6.1, 9.8 ms. From memory, not seen again:

    so the order is checked, and each time only within a factor of 1.5. "None" is here the bench's 68 V clamp.
    """
    table = [
        (part(), 1.5),
        (part("diode_zener", zener_v=24.0), 1.9),
        *((part("resistor", resistor_ohm=ohm), ms) for ohm, ms in
          ((680.0, 2.3), (470.0, 2.8), (330.0, 3.2), (220.0, 3.7), (100.0, 5.5), (82.0, 6.1))),
        (part("diode"), 9.8),
    ]  # fmt: skip
    found = [release_ms(specimen) for specimen, _ in table]
    assert found == sorted(found)
    for ms, (_, published) in zip(found, table, strict=True):
        assert published / 1.5 < ms < published * 1.5


def of_class(base: str, **given: object) -> Specimen:
    """A part by the default parameters of its class."""
    return Specimen.model_validate({"title": base, "base": base} | given)


def opening_ms(specimen: Specimen, harness: Harness, diode: bool) -> float:
    """Coil off to the first opening of NO, from nominal volts."""
    relay = RelayModel(parts(specimen), 20.0, None, harness)
    relay.drive(specimen.nominal_v, switch=True, diode=diode)
    relay.advance(0.5)
    relay.drive(specimen.nominal_v, switch=False, diode=diode)
    return next((at - 0.5) * 1e3 for at, throw, closed in relay.advance(0.55) if throw == NO and not closed)


@pytest.mark.parametrize("base", CLASSES)
def test_a_diode_multiplies_the_opening_time_by_four_to_eight(base: Base) -> None:
    """Leach application note 007: read. Against a coil that opens into nothing at all."""
    ratio = opening_ms(of_class(base), UNCLAMPED, True) / opening_ms(of_class(base), UNCLAMPED, False)
    print(f"{base}: a diode multiplies the opening time by {ratio:.2f}")
    assert 4.0 <= ratio <= 8.0


@pytest.mark.parametrize("base", ["mini_12v_changeover", "mini_12v_normally_open", "micro_12v_changeover"])
def test_the_benchs_clamp_is_nearly_as_good_as_nothing_for_12_volt_parts(base: Base) -> None:
    """Leach's factor holds with the bench's own 68 V clamp and its own 1N4007 as well."""
    assert 4.0 <= opening_ms(of_class(base), NOMINAL, True) / opening_ms(of_class(base), NOMINAL, False) <= 8.0


@pytest.mark.parametrize("base", ["mini_12v_changeover", "mini_12v_normally_open"])
def test_a_zener_of_12_volts_lets_go_as_much_sooner_than_a_diode_as_one_person_measured(base: Base) -> None:
    """6.7 ms with a diode, 2.6 ms with diode and 12 V zener, a 40 A relay (irrelevant-tech, 2026): read.

    Another part than ours: the ratio, 2.6, is met within a factor of 1.5.
    """
    diode = opening_ms(of_class(base, suppression={"kind": "diode"}), NOMINAL, False)
    zener = opening_ms(of_class(base, suppression={"kind": "diode_zener", "zener_v": 12.0}), NOMINAL, False)
    print(f"{base}: diode {diode:.2f} ms, diode and 12 V zener {zener:.2f} ms")
    assert 2.6 / 1.5 < diode / zener < 2.6 * 1.5


def test_a_mini_relay_with_a_diode_lets_go_in_the_time_that_two_people_measured() -> None:
    """6.7 ms (a 40 A relay, irrelevant-tech, 2026) and 8 ms (electro-tech-online, thread 167257): both read."""
    assert 6.0 <= release_ms(Specimen(title="of the class", base=BASE), diode=True) <= 9.0
