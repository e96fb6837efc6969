"""The copper law against makers' notes and worked examples."""

import pytest

from pulldrop.measure.copper import at_20c, factor, rise_k


def test_babcock_coil_and_pull_in_hot() -> None:
    # Babcock Relay News, note on coil temperature (read): 320 ohm at 25 degC is 443.3 ohm at 125 degC,
    # and a pull-in of 13.0 V becomes 18 V. Recomputed: 443.314 ohm, 18.010 V.
    assert 320 * factor(25, 125) == pytest.approx(443.314, abs=0.001)
    assert 13.0 * factor(25, 125) == pytest.approx(18.010, abs=0.001)


@pytest.mark.parametrize(("celsius", "volts"), [(85, 19.7), (100, 20.6), (-25, 12.9)])
def test_kilovac_pull_in_over_temperature(celsius: float, volts: float) -> None:
    # Kilovac/Schrack application note on coil voltages, fig. 47 (read): 16 V at 25 degC.
    assert 16.0 * factor(25, celsius) == pytest.approx(volts, abs=0.06)


@pytest.mark.parametrize(("celsius", "ohm", "volts"), [(85, 112.99, 8.160), (-40, 68.78, 4.968)])
def test_te_coil_and_pull_in(celsius: float, ohm: float, volts: float) -> None:
    # TE Connectivity, temperature considerations for DC relays: inputs read, results calculated with its
    # coefficient of 0.003929/K; the copper law with 234.5 degC (0.003929/K at 20 degC) gives the same.
    assert 90 * factor(20, celsius) == pytest.approx(ohm, rel=2e-4)
    assert 6.5 * factor(20, celsius) == pytest.approx(volts, rel=2e-4)


def test_coefficient_at_20_degc_is_iec_60028() -> None:
    # IEC 60028 (second hand): alpha at 20 degC = 0.00393/K = 1/254.5.
    assert factor(20, 21) - 1 == pytest.approx(1 / 254.5, rel=1e-9)


def test_rise_by_resistance() -> None:
    # A resistance meter's manual, appendix after IEC 60034 (second hand, recomputed): 200 mohm at 20 degC,
    # 210 mohm hot, ambient 25 degC, k = 235: 7.75 K.
    assert rise_k(0.200, 0.210, 20, 25, zero_c=235.0) == pytest.approx(7.75, abs=0.005)
    # A worked example of a physics forum (read, recomputed): 80 ohm at 20 degC, 100 ohm hot: 83.6 degC.
    assert rise_k(80, 100, 20, 0) == pytest.approx(83.625, abs=0.001)


def test_leach_example_to_half_a_percent() -> None:
    # Leach note 102 (read) gives 403.31 ohm for 290 ohm at 25 degC heated to 125; the note has a slip of its own,
    # so it is held to 0.5 % only.
    assert 290 * factor(25, 125) == pytest.approx(403.31, rel=5e-3)


def test_to_20_degc_and_back() -> None:
    assert at_20c(at_20c(85.0, 35.0), 5.0) == pytest.approx(85.0 * factor(35, 20) * factor(5, 20))
