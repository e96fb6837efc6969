"""The vehicle inputs in ngspice: scale, a 60 V transient, a reversed battery."""

import pytest
from making import circuit
from making.decks import blocks
from making.decks.spice import run

WHOLE = circuit.load()


@pytest.mark.parametrize("volts", [0.5, 12.0, 24.0, 36.0])
def test_an_input_reads_a_ninth(volts: float) -> None:
    assert run(blocks.vehicle_input(WHOLE, volts))["pin_v"] == pytest.approx(volts / 9, rel=0.001)


def test_a_60_v_transient_leaves_the_converter_whole() -> None:
    seen = run(blocks.vehicle_input(WHOLE, 60.0))
    assert seen["most_v"] < 7.0
    assert seen["pin_a"] < 0.010


@pytest.mark.parametrize("volts", [350.0, -600.0])
def test_a_spike_of_a_vehicles_coils_leaves_the_converter_whole(volts: float) -> None:
    """Its resistor of 120 kohm bears 350 V; ISO 7637-2 has pulses of -600 V for 1 ms on 24 V (from memory)."""
    seen = run(blocks.vehicle_input(WHOLE, volts))
    assert seen["least_v"] > -0.9
    assert seen["most_v"] < 7.0
    assert abs(seen["pin_a"]) < 0.010


def test_a_reversed_24_v_battery_leaves_the_converter_whole() -> None:
    seen = run(blocks.vehicle_input(WHOLE, -28.8))
    assert seen["least_v"] > -0.7
    assert abs(seen["pin_a"]) < 0.010
