"""What a contact's surface has become in one make: films that volts break, spots that a load squeezes."""

import math

import pytest
from plant_steps import held, loaded, specimen, switched

from pulldrop.plant.bench.bench import Bench, Pins
from pulldrop.plant.bench.feeds import DRY_OHM
from pulldrop.plant.bench.frontend import BRANCH_OHM
from pulldrop.plant.relay.contact import MELTS_V, SPOT_V, ContactModel, Touch, spot_k
from pulldrop.plant.relay.relay import NO

A1, A10, A20 = 1, 4, 8
FULL_V = 4.096


def dry_ohm(bench: Bench) -> float:
    """As four wires see the closed throw at 5 V open-circuit through 1 kohm."""
    volts = bench.ads_counts("no", 1) * FULL_V / 32768
    return volts * DRY_OHM / (5.0 - volts)


def test_a_metal_surface_of_110_milliohms_does_not_stand_ohmic_at_10_amps() -> None:
    bench = held(specimen(contact_no={"pitting_mohm": 110.0, "pitting_scatter": 0.0}))
    assert bench.ads_counts("no", 5) * 0.256 / 32768 == pytest.approx(5e-3 * 0.112, rel=0.06)
    volts, amps = loaded(bench, NO, A10)
    assert amps > 9.4 and volts < MELTS_V + 0.02
    bench.drive(Pins(lamp=True, dac=bench.pins.dac, coil=True, dry=1))
    assert bench.ads_counts("no", 5) * 0.256 / 32768 < 5e-3 * 0.016, "it froze with more metal joined"


def test_what_a_load_has_melted_stays_for_this_make_and_the_next_one_is_rough_again() -> None:
    bench = held(specimen(contact_no={"pitting_mohm": 60.0, "pitting_scatter": 0.0}))
    dry = Pins(lamp=True, dac=bench.pins.dac, coil=True, dry=1)
    bench.drive(dry)
    before = bench._contact_ohm(NO)
    loaded(bench, NO, A10)
    bench.drive(dry)
    assert bench._contact_ohm(NO) < 0.2 * before
    switched(bench, False, 13.5)
    switched(bench, True, 13.5, window_s=0.3)
    assert bench._contact_ohm(NO) == pytest.approx(before, rel=1e-3)


def test_melted_spots_freeze_at_other_ohms_with_every_make() -> None:
    model = ContactModel(pitting_mohm=100.0)
    volts = [10 * model.ohm(1.0, Touch(draw, carried_a=10.0), 10.0) for draw in (-1.5, -0.5, 0.5, 1.5)]
    assert max(volts) - min(volts) > 0.1
    assert all(0.09 < one < MELTS_V + 0.02 for one in volts)


def test_the_5_volts_of_the_dry_source_break_a_film_that_20_millivolts_would_show_whole() -> None:
    """A film of 300 ohm that 0.2 V break: at 20 mV open-circuit it stands; here its bridge is left, below 0.37 V."""
    model = ContactModel(film_ohm=300.0)
    assert not model.film_breaks(0.02 / (300 + DRY_OHM)) and model.ohm(1.0, Touch()) > 300
    bench = held(specimen(contact_no=model.model_dump()))
    assert 10 < dry_ohm(bench) < MELTS_V / 4.5e-3
    assert dry_ohm(bench) > 0.1, "and is still far more than any clean contact"


def test_a_bridge_through_a_film_is_gone_with_the_next_make_and_a_load_burns_the_film_off_for_good() -> None:
    bench = held(specimen(contact_no={"film_ohm": 300.0}))
    assert bench._touches[NO].film == "bridged"
    switched(bench, False, 13.5)
    bench.drive(Pins(lamp=True, dac=bench.pins.dac, coil=True))
    bench.advance(bench.time_s + 0.1)
    assert bench._touches[NO].film == "whole", "20 uA of the pin's pull-up put 6 mV across it"
    assert loaded(bench, NO, A1)[0] < 0.05
    assert bench._touches[NO].film == "gone"
    switched(bench, False, 13.5)
    switched(bench, True, 13.5, window_s=0.3)
    assert dry_ohm(bench) < 0.1


def test_a_film_that_stands_the_loads_volts_is_not_melted_by_its_heat() -> None:
    """At most 30 W in one of as many ohms as the branch of 10 A; the spot below it, of 1 N, melts at more (Holm: both
    bodies lead off 8 lambda a W/K, lambda by Wiedemann and Franz). So dead films of 4 to 60 ohm are possible."""
    model = ContactModel()
    radius = math.sqrt(1.0 / (math.pi * model.hardness_mpa * 1e6))
    lead_w_per_k = 8 * (SPOT_V**2 / (4 * 293.0) / (model.resistivity_nohm_m * 1e-9)) * radius
    most_w = 12.0**2 / (4 * BRANCH_OHM[2])
    assert most_w == pytest.approx(30.0) and most_w < lead_w_per_k * (spot_k(MELTS_V) - 293.0)
