"""The plant's coil against worked examples, makers' figures and a general-purpose solver."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from pulldrop.plant.coil import Coil, Magnetics, copper_ohm
from pulldrop.plant.contact import constriction_ohm
from pulldrop.plant.relay import Relay
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


@pytest.mark.parametrize(("to_c", "published_v"), [(85.0, 19.7), (100.0, 20.6), (-25.0, 12.9)])
def test_pull_in_voltage_rises_with_the_coils_temperature_as_published(to_c: float, published_v: float) -> None:
    """Pull-in of 16 V at 25 degC, Kilovac/Schrack application note on coil voltages, figure 47: read.

    Nothing in the plant says so: its pull-in is found by raising the voltage until NO touches.
    """
    sample = Specimen(title="any part")
    ratio = _pull_in_v(sample, to_c) / _pull_in_v(sample, 25.0)
    assert 16.0 * ratio == pytest.approx(published_v, abs=0.1)


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


def _pull_in_v(specimen: Specimen, temperature_c: float) -> float:
    """Lowest supply volts at which NO touches and stays, within 10 mV, by halving."""
    low, high = 4.0, 12.0
    while high - low > 10e-3:
        middle = (low + high) / 2
        relay = Relay(parts(specimen), temperature_c)
        relay.drive(middle, switch=True, diode=False)
        relay.advance(0.1)
        low, high = (low, middle) if relay.touching[0] else (middle, high)
    return high
