"""Heat of metal spots in a contact, against Holm's volts and the melting points of metals."""

from itertools import pairwise

import pytest

from pulldrop.plant.relay.contact import (
    COLD_MELT_V,
    MELTS_V,
    SOFTENS_V,
    ContactModel,
    Touch,
    hot_ohm,
    spot_k,
    squeezed_ohm,
)

AMPS = (0.005, 0.1, 1.0, 5.0, 8.0, 10.0, 12.0, 20.0)


@pytest.mark.parametrize(
    ("volts", "melts_c", "within"),
    [
        (0.37, 961.8, 0.03),  # silver; volts: Holm, Electric Contacts, from memory; ITS-90 fixed points, from memory
        (0.43, 1064.2, 0.06),  # gold; volts as before
        (0.43, 1084.6, 0.06),  # copper
        (0.65, 1768.0, 0.06),  # platinum: Holm 0.65 V; melting point from memory
    ],
)
def test_a_spot_at_holms_melting_volts_is_as_hot_as_its_metals_melting_point(
    volts: float, melts_c: float, within: float
) -> None:
    """The plant's relation has no melting point in it: T^2 = T0^2 + V^2 / 4 L, with Sommerfeld's Lorenz number."""
    assert spot_k(volts) == pytest.approx(melts_c + 273.15, rel=within)


def test_silver_softens_far_below_its_melting_point() -> None:
    # Holm, Electric Contacts, from memory: silver softens at 0.09 V, about 180 degC; good for the order only.
    assert SOFTENS_V == 0.09 and MELTS_V == 0.37
    assert spot_k(SOFTENS_V) - 273.15 == pytest.approx(180, abs=50)


@pytest.mark.parametrize("draw", [-3.0, 0.0, 3.0])
@pytest.mark.parametrize("cold_mohm", [0.5, 8.0, 36.0, 110.0, 1e4])
def test_no_spot_of_silver_holds_more_than_the_volts_that_melt_it(cold_mohm: float, draw: float) -> None:
    """Holm, from memory: 110 mohm at 10 A would be 1.1 V, three times what melts silver."""
    for amps in AMPS:
        squeezed = squeezed_ohm(cold_mohm * 1e-3, amps, draw)
        assert squeezed <= cold_mohm * 1e-3
        assert amps * squeezed <= COLD_MELT_V * (1 + 1e-9)
        assert amps * hot_ohm(squeezed, amps) <= MELTS_V * (1 + 1e-9)


def test_more_current_never_leaves_a_spot_with_more_ohms() -> None:
    for draw in (-2.0, 0.0, 2.0):
        left = [squeezed_ohm(30e-3, 0.1 * n, draw) for n in range(1, 300)]
        assert all(after <= before for before, after in pairwise(left))


def test_a_spot_that_stays_below_softening_is_the_same_afterwards() -> None:
    worn = ContactModel(bulk_mohm=0.0, pitting_mohm=4.0)
    before = worn.ohm(1.0, Touch())
    warm = worn.ohm(1.0, Touch(), 10.0)
    assert worn.ohm(1.0, Touch(carried_a=10.0), 0.005) == pytest.approx(before, rel=1e-6)
    # Series of tan: V / V_cold = 1 + (V_cold / 0.0915)^2 / 3, Kohlrausch with Sommerfeld's number; calculated.
    assert warm / before == pytest.approx(1 + (10 * before / 0.0915) ** 2 / 3, rel=0.02)


def test_a_pitted_contact_without_slag_is_better_after_its_load_and_slag_is_not() -> None:
    pitted, slag = ContactModel(pitting_mohm=110.0), ContactModel(crust_mohm=110.0)
    after = Touch(carried_a=10.0)
    assert pitted.ohm(1.0, Touch()) > 0.1 and pitted.ohm(1.0, after, 10.0) < 0.045
    assert pitted.ohm(1.0, after, 0.005) < 0.015
    assert slag.ohm(1.0, after, 10.0) == pytest.approx(slag.ohm(1.0, Touch()), rel=1e-2)
