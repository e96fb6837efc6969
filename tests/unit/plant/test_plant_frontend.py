"""The virtual bench's parts: as wrong as real ones, and as far as the circuit's own Monte Carlo says."""

from itertools import pairwise
from math import sqrt
from pathlib import Path
from statistics import fmean, pstdev

import pytest
import yaml
from making import circuit
from plant_steps import code, held, loaded, specimen

from pulldrop.plant.bench import frontend as fe
from pulldrop.plant.bench.bench import Bench, Pins
from pulldrop.plant.bench.frontend import Frontend, drawn
from pulldrop.plant.relay.relay import NO

ERRORS = yaml.safe_load((Path(__file__).parents[3] / "hardware/channel_errors.yaml").read_text("utf-8"))["channels"]
BENCHES = [drawn(seed) for seed in range(1500)]
ADS_V = 0.256 / 32768


def _coil_set(front: Frontend) -> tuple[float, float]:
    low, high = front.coil_v(700), front.coil_v(3300)
    gain = (high - low) / 2600
    return gain, 700 - low / gain


def _coil_fast(front: Frontend) -> tuple[float, float]:
    def counts(amps: float) -> float:
        pin_v = front.fast_pin_v(amps)
        return (pin_v + front.adc_error_v(pin_v, 0.0)) / front.vcc_v * fe.ADC_STEPS

    gain = 0.15 / (counts(0.2) - counts(0.05))
    return gain, counts(0.05) - 0.05 / gain


def _ads(front: Frontend, source: int, per_count: float) -> tuple[float, float]:
    def counts(volts: float) -> int:
        return front.ads_counts(source, volts, 5, 0.0)

    gain = 0.2 / (counts(0.2) - counts(0.0))
    return gain * per_count, counts(0.0)


CHANNELS = {
    "coil_set": _coil_set,
    "coil_bus": lambda f: ((25.0 - 1.0) / (f.ina_counts(25.0, 0, (0, 0))[0] - f.ina_counts(1.0, 0, (0, 0))[0]),
                           f.ina_bus_zero_v / fe.INA_BUS_V),
    "coil_shunt": lambda f: (0.2 / (f.ina_counts(13.5, 0.25, (0, 0))[1] - f.ina_counts(13.5, 0.05, (0, 0))[1]),
                             f.ina_counts(0.0, 0.0, (0, 0))[1]),
    "coil_common": lambda f: (fe.INA_SHUNT_V / fe.INA_SHUNT_OHM,
                              f.ina_counts(24.0, 0.0, (0, 0))[1] - f.ina_counts(0.0, 0.0, (0, 0))[1]),
    "coil_fast": _coil_fast,
    "low_side": lambda f: (f.harness.switch_ohm, 0.0),
    "drop": lambda f: _ads(f, fe.NO, 1.0),
    "load": lambda f: _ads(f, fe.SHUNT, 1 / f.load_shunt_ohm(0.0)),
    "ads_bend": lambda f: (ADS_V, f.ads_bent_v(0.128, 0.256) / ADS_V),
    "tick": lambda f: (0.5e-6 * (1 + f.tick), 0.0),
    "temperature": lambda f: (1.0, f.ntc_k),
}  # fmt: skip
"""Unit a count, and the count at zero, of one bench."""


@pytest.mark.parametrize("name", CHANNELS)
def test_the_virtual_benches_scatter_as_the_circuits_tolerances_do(name: str) -> None:
    drawn_channels = [CHANNELS[name](front) for front in BENCHES]
    gains, zeros = [gain for gain, _ in drawn_channels], [zero for _, zero in drawn_channels]
    parts = ERRORS[name]
    mean, noise = fmean(gains), 4 * parts["u_gain"] / sqrt(len(BENCHES)) + 1e-4
    assert mean == pytest.approx(float(parts["gain"]), rel=noise)
    if parts["u_gain"]:
        assert pstdev(gains) / mean == pytest.approx(parts["u_gain"], rel=0.15)
    if name != "tick":  # a tick's zero is its rounding, which belongs to an edge and not to a bench
        assert pstdev(zeros) == pytest.approx(parts["u_zero"], rel=0.2, abs=0.01)
        assert fmean(zeros) == pytest.approx(parts["zero"], abs=4 * parts["u_zero"] / sqrt(len(BENCHES)) + 0.1)


def test_the_resistors_before_the_converter_are_those_of_the_circuit() -> None:
    whole = circuit.load()
    ohm = {ref: whole[ref].type.number("ohm") for ref in ("R31", "R32", "R35", "R36", "R37")}
    series = fmean(front.ads_series_ohm[fe.NO] for front in BENCHES)
    assert series == pytest.approx(ohm["R31"] + ohm["R32"] + ohm["R35"] + ohm["R36"], rel=0.01)
    assert drawn(1).ads_series_ohm[fe.SHUNT] == ohm["R37"]


@pytest.mark.parametrize("seed", range(5))
def test_a_dac_step_is_uneven_by_less_than_its_makers_limit_and_never_falls(seed: int) -> None:
    """MCP4725: DNL within +-0.75 counts, so monotonic; typical 0.2 (data sheet, from memory)."""
    front = drawn(seed)
    volts = [front.coil_v(at) for at in range(900, 1100)]
    count_v = front.vcc_v * 6 / 4096 * (1 + front.dac_gain)
    steps = [(now - before) / count_v for before, now in pairwise(volts)]
    assert all(0.25 < step < 1.75 for step in steps)
    assert pstdev(steps) > 0.05


def test_a_perfect_bench_has_even_steps() -> None:
    front = drawn(None)
    assert front.coil_v(1001) - front.coil_v(1000) == pytest.approx(30 / 4096)


def test_the_load_shunt_warms_within_a_pulse_of_20_amps_and_cools_after_it() -> None:
    """2 W in a 5 W element: about a quarter of a kelvin in 100 ms, of 40 in the long run."""
    bench = held(specimen())
    assert bench.warmth_k()[1] == pytest.approx(0.0, abs=1e-6)
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True, branches=8, throws=1))
    bench.advance(bench.time_s + 0.1)
    warm_k = bench.warmth_k()[1]
    assert 0.2 < warm_k < 0.3
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True))
    bench.advance(bench.time_s + 60.0)
    assert bench.warmth_k()[1] < 0.1 * warm_k


def test_the_fast_shunt_warms_under_the_coils_current() -> None:
    bench = held(specimen(), seed=3)
    cold = bench.frontend.fast_pin_v(0.15, 0.0)
    bench.advance(60.0)
    rise_k = bench.warmth_k()[0]
    assert 1.0 < rise_k < 3.0
    assert 0 < abs(bench.frontend.fast_pin_v(0.15, rise_k) / cold - 1) < 400e-6


def test_four_wire_sensing_takes_out_the_leads_but_not_the_clips() -> None:
    """The sense wire sits on the clip: what clip and blade have between them is read with the contact."""
    part = specimen(contact_no={"pitting_mohm": 0.0, "bulk_mohm": 5.0})
    perfect, real = held(part), held(part, seed=4)
    ohm = [volts / amps for volts, amps in (loaded(bench, NO, 4) for bench in (perfect, real))]
    front = real.frontend
    lost = (1 + front.ads_series_ohm[fe.SHUNT] / 710e3) / (1 + front.ads_series_ohm[fe.NO] / 710e3)
    expected = (ohm[0] + front.clip_ohm[NO]) * lost / (1 + front.load_shunt)
    assert ohm[1] == pytest.approx(expected, abs=20e-6)
    assert 0.1e-3 <= front.clip_ohm[NO] <= 0.3e-3


def test_the_coils_leads_are_read_with_the_coil() -> None:
    """Two wires feed the coil; only the volts before them are measured."""
    bench = Bench(specimen(coil={"heating_k_per_w": 0.0}), 6)
    bench.drive(Pins(lamp=True, dac=code(12.0), coil=True))
    bench.advance(1.0)
    around = bench.relay.circuit()
    lead_ohm = (around.plus_v - around.low_side_v) / around.supply_a - bench.relay.ohm
    assert lead_ohm == pytest.approx(bench.frontend.harness.lead_ohm, abs=1e-3)
    assert 0.010 <= lead_ohm <= 0.041
