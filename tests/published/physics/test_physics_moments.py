"""Moments that somebody measured on the coil current and the contact of one relay, against the plant's curves as the
motion reader of `pulldrop waveform` reads them.

READ: irrelevant-tech, "Relay Dynamics Puzzle", March 2026: a typical 40 A automotive relay of 12 V with a diode across
its coil; the armature starts after 3.1 ms and comes to NO 1.9 ms later; NO opens 6.7 ms after the switch-off. No
samples are published. Another part than ours, so moments within a factor of 1.5, as in test_physics_suppression.
"""

import pytest
from waves import wave

from pulldrop.measure.waveform import told
from pulldrop.model.part.relay import FORMS, Form
from pulldrop.model.reading import Reading
from pulldrop.plant.specimen import Specimen

START_S, FLIGHT_S, OPENS_S = 3.1e-3, 1.9e-3, 6.7e-3
FACTOR = 1.5
DIODE = {"kind": "diode"}


@pytest.mark.parametrize(("base", "form"), [("mini_12v_normally_open", "A"), ("mini_12v_changeover", "C")])
def test_a_40_a_relay_starts_flies_and_opens_as_one_that_was_measured(base: str, form: Form) -> None:
    part = Specimen.model_validate({"title": "invented", "base": base, "suppression": DIODE})
    on, off = wave(True, part=part), wave(False, part=part)
    found = {one.id: one for one in told(FORMS[form], 12.0, on, off).findings}

    def number(id: str) -> float:
        one = found[id]
        assert isinstance(one, Reading)
        return one.number

    start = number("armature_start_time")
    opens = next(at for at, closed in zip(off.seconds, off.no or (), strict=True) if at > 0 and not closed)
    for own, published in ((start, START_S), (number("operate_time") - start, FLIGHT_S), (opens, OPENS_S)):
        assert published / FACTOR < own < published * FACTOR
