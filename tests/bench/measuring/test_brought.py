"""Times at a low supply, brought to nominal volts, hold what is true there; other parts than those of the fit."""

import random

import pytest
import specimens
import truth

from pulldrop.measure.rig.counts.supply_volts import brought

LOW_V, NOMINAL_V, PARTS = 11.0, 12.0, 60
"""Of the coil on a battery that is no longer full."""


@pytest.fixture(scope="module")
def errors() -> dict[str, list[float]]:
    """By each time's id: how far it is off in each part, in U of the supply's volts alone."""
    found: dict[str, list[float]] = {}
    for number in range(PARTS):
        chance = random.Random(f"brought:{number}")
        part = specimens.specimen(chance.choices(specimens.BASES, (4, 2, 2, 0))[0], chance)
        low, true = (truth.times(part, volts, moves=1) for volts in (LOW_V, NOMINAL_V))
        for id in low.keys() & {"operate_time", "transfer_time", "release_time"}:
            factor = brought(id, LOW_V / NOMINAL_V - 1)
            reach = 0.95 * 3**0.5 * factor.std_dev  # 95 % of a rectangle
            found.setdefault(id, []).append((low[id] * factor.nominal_value - true[id]) / (low[id] * reach))
    return found


@pytest.mark.parametrize("id", ["operate_time", "transfer_time", "release_time"])
def test_nine_in_ten_times_lie_within_what_is_stated(errors: dict[str, list[float]], id: str) -> None:
    inside = sum(abs(error) <= 1 for error in errors[id]) / len(errors[id])
    assert inside >= 0.9
