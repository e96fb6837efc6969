"""The whole relay, coil and moving parts together, against a general-purpose solver (scipy's Radau method)."""

from typing import Any

import numpy as np
import pytest
from reference_relay import Reference, Trace

from pulldrop.plant.relay.relay import NC, NO, RelayModel
from pulldrop.plant.specimen import Specimen, parts

STEP_S = 50e-6


def specimen(base: str, **given: Any) -> Specimen:
    """A part of a class whose winding stays as warm as it is."""
    return Specimen.model_validate({"title": "x", "base": base, "coil": {"heating_k_per_w": 0.0}, **given})


def by_plant(part: Specimen, volts: float, diode: bool, on: bool, seconds: float) -> Trace:
    """The same switching by the plant, the other state held until everything was at rest."""
    relay = RelayModel(parts(part), 20.0)
    relay.drive(volts, switch=not on, diode=diode)
    relay.advance(1.0)
    relay.drive(volts, switch=on, diode=diode)
    at, amps, touches = [0.0], [relay.i], []
    while relay.t < 1.0 + seconds - 1e-9:
        touches += [(t - 1.0, throw, closed) for t, throw, closed in relay.advance(relay.t + STEP_S)]
        at.append(relay.t - 1.0)
        amps.append(relay.i)
    states = np.zeros((6, len(at)))
    states[1] = amps
    return Trace(np.array(at), states, tuple(touches))


CASES: list[tuple[str, str, bool, dict[str, Any], bool]] = [
    ("operate", "mini_12v_changeover", True, {"kind": "none"}, False),
    ("operate, 4 terminals", "mini_12v_normally_open", True, {"kind": "none"}, False),
    ("operate, micro", "micro_12v_changeover", True, {"kind": "none"}, False),
    ("operate, 24 V", "mini_24v_changeover", True, {"kind": "none"}, False),
    ("release into nothing", "mini_12v_changeover", False, {"kind": "none"}, False),
    ("release into nothing, 24 V", "mini_24v_changeover", False, {"kind": "none"}, False),
    ("release into 680 ohm", "mini_12v_changeover", False, {"kind": "resistor", "resistor_ohm": 680.0}, False),
    ("release into a diode", "mini_12v_changeover", False, {"kind": "diode"}, False),
    ("release into diode and zener", "mini_12v_normally_open", False, {"kind": "diode_zener"}, False),
    ("release into the bench's diode", "micro_12v_changeover", False, {"kind": "none"}, True),
]


@pytest.mark.parametrize("case", CASES, ids=[case[0] for case in CASES])
def test_a_relay_in_motion_agrees_with_a_general_purpose_solver(
    case: tuple[str, str, bool, dict[str, Any], bool],
) -> None:
    name, base, on, clamp, diode = case
    part = specimen(base, suppression=clamp)
    volts = 13.5 * part.nominal_v / 12
    reference = Reference(part, volts, diode).switched(on, 0.014)
    own = by_plant(part, volts, diode, on, 0.014)
    at = np.arange(1, round(0.014 / STEP_S)) * STEP_S
    full_a = volts / part.coil.resistance_ohm
    share = float(np.abs(own.amps(at) - reference.amps(at)).max() / full_a)
    firsts = [(NO, on), (NC, not on)] if part.form == "C" else [(NO, on)]
    late = [own.first(throw, closed) - reference.first(throw, closed) for throw, closed in firsts]
    print(f"solve_ivp, {name}: {100 * share:.3f} % of full scale, " + ", ".join(f"{1e6 * s:+.1f} us" for s in late))
    assert share < 0.01
    assert all(abs(seconds) < 20e-6 for seconds in late)
