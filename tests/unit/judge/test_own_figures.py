"""Statements about figures and lists of our own, which no published source gives."""

import pytest

from pulldrop.measure.rig.counts.copper import at_20c, factor
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.relay import NC
from pulldrop.plant.relay.relay import RelayModel
from pulldrop.plant.specimen import Specimen, parts


def test_a_value_brought_to_20_degc_from_two_temperatures_is_brought_by_both_factors() -> None:
    assert at_20c(at_20c(85.0, 35.0), 5.0) == pytest.approx(85.0 * factor(35, 20) * factor(5, 20))


def test_what_needs_87a_is_asked_of_parts_with_87a_only() -> None:
    assert {m.id for m in MEASUREMENTS.values() if NC in m.needs} == {
        "bounce_time_nc",
        "transfer_time",
        "contact_drop_nc",
        "first_drop_nc",
        "contact_dry_nc",
        "contact_before_load_nc",
        "contact_loaded_nc",
        "contact_after_load_nc",
        "contact_scatter_nc",
        "opening_after_hot_make_nc",
    }


@pytest.mark.parametrize("resistor_ohm", [330, 470, 680])
def test_where_a_resistor_would_throw_up_more_the_benchs_clamp_holds_68_volts(resistor_ohm: float) -> None:
    """55 ohm at 13.5 V into them: 81, 115 and 167 V by Ohm's law."""
    across = {"kind": "resistor", "resistor_ohm": resistor_ohm}
    part = {"title": "invented", "coil": {"resistance_ohm": 55.0}, "suppression": across}
    relay = RelayModel(parts(Specimen.model_validate(part)), 20.0)
    relay.drive(13.5, switch=True, diode=False)
    relay.advance(0.5)
    relay.drive(13.5, switch=False, diode=False)
    assert relay.circuit().low_side_v == pytest.approx(68.0, abs=1.0)
