"""The plant's coil against worked examples, makers' figures and a general-purpose solver."""

from functools import cache

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from pulldrop.plant.relay.coil import Coil, Magnetics, copper_ohm
from pulldrop.plant.relay.contact import constriction_ohm
from pulldrop.plant.relay.relay import RelayModel
from pulldrop.plant.specimen import Specimen, parts


def test_an_rl_circuit_reaches_its_pull_in_current_after_the_published_delay() -> None:
    """12 V, 150 ohm, 30 mH, 50 mA: 0.1962 ms. Worked example of a textbook site (holooly), read and recalculated."""
    linear = Coil(
        resistance_ohm=150, turns=1000, pole_area_mm2=100, residual_gap_mm=1e-6, iron_reluctance=1000**2 / 30e-3,
        saturation_t=3, eddy_s=1e-3, leakage_mh=1e-6,
    )  # fmt: skip
    coil = Magnetics(linear, shorted_fraction=0.0)
    phi, i, t, h = 0.0, 0.0, 0.0, 1e-6
    while True:
        before = i
        phi, i = coil.step(phi, i, gap=0.0, h=h, u0=12.0, ohm=150.0)
        if i >= 0.05:
            break
        t += h
    reached = t + h * (0.05 - before) / (i - before)
    assert reached == pytest.approx(0.1962e-3, rel=2e-3)


@pytest.mark.parametrize(
    ("ohm", "from_c", "to_c", "expected"),
    [
        (320.0, 25.0, 125.0, 443.3),  # Babcock Relay News, note on coil temperature: read
        (90.0, 20.0, 85.0, 112.99),  # TE Connectivity, temperature considerations for DC relays: inputs read
        (90.0, 20.0, -40.0, 68.78),  # the same
    ],
)
def test_the_winding_follows_the_copper_law(ohm: float, from_c: float, to_c: float, expected: float) -> None:
    at_20c = ohm / copper_ohm(1.0, from_c)
    assert copper_ohm(at_20c, to_c) == pytest.approx(expected, rel=5e-4)


@pytest.mark.parametrize(
    ("from_c", "from_v", "to_c", "published_v"),
    [
        (25.0, 13.0, 125.0, 18.0),  # Babcock Relay News, note on coil temperature: read; 18.010 by the copper law
        (25.0, 16.0, 85.0, 19.7),  # Kilovac/Schrack application note on coil voltages, figure 47: read
        (25.0, 16.0, 100.0, 20.6),
        (25.0, 16.0, -25.0, 12.9),
        (20.0, 6.5, 85.0, 8.160),  # TE Connectivity, temperature considerations for DC relays: inputs read
        (20.0, 6.5, -40.0, 4.968),
    ],
)
def test_pull_in_voltage_rises_with_the_coils_temperature_as_published(
    from_c: float, from_v: float, to_c: float, published_v: float
) -> None:
    """Nothing in the plant says so: its pull-in is found by raising the voltage until NO touches."""
    found_v = from_v * _pull_in_v(to_c) / _pull_in_v(from_c)
    assert found_v == pytest.approx(published_v, rel=0.004)


def test_a_spot_of_50_um_in_silver_has_the_constriction_of_holm() -> None:
    """rho / (2 a) with 15.9 nohm m and 50 um: 0.159 mohm. Holm, Electric Contacts; calculated."""
    assert constriction_ohm(1.59e-8, 50e-6) == pytest.approx(0.159e-3, rel=1e-3)


@pytest.mark.parametrize("ohm_outside", [0.87, 100.0, 1000.0])
def test_a_locked_coil_agrees_with_a_general_purpose_solver(ohm_outside: float) -> None:
    """Flux and current at a fixed gap, rising and then falling: scipy's implicit Radau method, tolerance 1e-9."""
    shape = Specimen(title="any part").coil
    coil = Magnetics(shape, shorted_fraction=0.0)
    gap, ohm = 0.3e-3, shape.resistance_ohm + ohm_outside

    def slopes(t: float, y: np.ndarray) -> list[float]:
        flux = (coil.turns * y[1] - coil.mmf(y[0], gap)) / coil.eddy
        return [flux, ((13.5 if t < 0.01 else 0.0) - ohm * y[1] - coil.turns * flux) / coil.leakage]

    rising = solve_ivp(slopes, (0, 0.01), [0.0, 0.0], "Radau", rtol=1e-9, atol=1e-14)
    falling = solve_ivp(slopes, (0.01, 0.015), rising.y[:, -1], "Radau", rtol=1e-9, atol=1e-14)
    phi, i = 0.0, 0.0
    for _ in range(1000):
        phi, i = coil.step(phi, i, gap, 10e-6, 13.5, ohm)
    assert (phi, i) == pytest.approx(tuple(rising.y[:, -1]), rel=2e-5)
    for _ in range(500):
        phi, i = coil.step(phi, i, gap, 10e-6, 0.0, ohm)
    assert (phi, i) == pytest.approx(tuple(falling.y[:, -1]), rel=2e-3)


@cache
def _pull_in_v(temperature_c: float) -> float:
    """Highest volts across the coil, within 2 mV, at which NO does not touch, each reached from one that did not."""
    part = Specimen.model_validate({"title": "any part", "coil": {"heating_k_per_w": 0.0}})
    relay = RelayModel(parts(part), temperature_c)
    low, high, state = 3.0, 13.0, relay.snapshot()
    while high - low > 2e-3:
        middle = (low + high) / 2
        relay.restore(state)
        relay.drive(middle, switch=True, diode=False)
        relay.advance(relay.t + 0.3)
        if relay.touching[0]:
            high = middle
        else:
            low, state = middle, relay.snapshot()
    relay.restore(state)
    around = relay.circuit()
    return around.plus_v - around.low_side_v
