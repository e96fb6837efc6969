"""A filament lamp behind the load in ngspice: what the transistors bear that its volts turn down."""

from itertools import product

import pytest
from making import circuit
from making.decks.lamps import Lamp, load, with_thresholds
from making.decks.spice import run
from making.limits.stress import FIRMWARE_S

from pulldrop.plant.pair.filament import HEAT, RESISTIVITY_UOHM_CM, Filament

BUILDS = {"full": (circuit.load(), "Q15", (4.70, 5.25)), "evening": (circuit.load("evening"), "Q16", (4.50, 5.25))}
"""Each with the transistor that bears most, and the ends of its 5 V."""
LAMPS = {
    "12 V 55 W": Filament(12, 1.3 * 4.583, 3100), "12 V 21 W": Filament(12, 1.3 * 1.75, 2780),
    "12 V 5 W": Filament(12, 1.3 * 0.4167, 2700), "24 V 70 W": Filament(24, 1.3 * 2.917, 3100),
    "24 V 5 W": Filament(24, 1.3 * 0.2083, 2700),
}  # fmt: skip
"""At the upper end of their tolerance."""


AVALANCHE_J = 0.2
"""Of one pulse, by the sheets of both transistors (from memory)."""


def lamp(of: Filament, opens_s: float = 0.0) -> Lamp:
    kelvin = list(RESISTIVITY_UOHM_CM)
    watts = [max(of.watts(one), 0.0) for one in kelvin]
    return Lamp(kelvin, [of.ohm(one) for one in kelvin], watts, of.kilograms * HEAT[1000], opens_s)


def bears_w(build: str) -> float:
    whole, ref, _ = BUILDS[build]
    return 0.8 * (175 - 60) / whole[ref].type.number("pulse_rth")


@pytest.mark.parametrize(("build", "name"), product(BUILDS, LAMPS))
def test_a_lamp_turns_its_switch_down_and_the_switch_bears_it(build: str, name: str) -> None:
    """At either end of 5 V and threshold, and a mean of the whole half second that the firmware allows."""
    whole, ref, rails = BUILDS[build]
    for rail_v, end in zip(rails, (2, 0), strict=True):
        threshold = whole[ref].type.bounds("vth")[end]
        got = run(load(with_thresholds(whole, **{ref: threshold}), lamp(LAMPS[name]), rail_v, FIRMWARE_S))
        assert got["throw_v"] < rail_v - threshold + 0.1
        assert 0.2 < got[f"{ref.lower()}_w"] < bears_w(build)
        assert got.get("q16_w", 0) < bears_w(build)


@pytest.mark.parametrize("build", BUILDS)
def test_a_filament_or_fuse_that_breaks_amid_the_pulse_harms_no_switch(build: str) -> None:
    """It breaks cold, at the most amps: what leads and load resistor hold goes into arc and avalanche."""
    whole, _, rails = BUILDS[build]
    got = run(load(whole, lamp(LAMPS["12 V 55 W"], 0.0005), rails[1], 0.0007))
    assert abs(got["lamp_a"]) < 0.01
    assert got["throw_v"] - rails[1] < whole["Q16"].type.number("vgs"), "its gate stands at 5 V meanwhile"
    assert max(got.get(f"{ref}_j", 0.0) for ref in ("q15", "q16")) < AVALANCHE_J / 10
