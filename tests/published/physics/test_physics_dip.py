"""The coil current dips while the armature closes, and is lowest as it seats.

Second hand: a relay maker's page that was read without noting which. It is the motor law, and common practice: flux
that grows with the closing gap is volts against the supply (Fitzgerald, Electric Machinery, ch. 3, from memory).
"""

from pulldrop.plant.relay.relay import RelayModel
from pulldrop.plant.specimen import Specimen, parts


def test_the_coil_current_is_lowest_as_the_armature_seats() -> None:
    relay = RelayModel(parts(Specimen(title="any part")), 20.0)
    relay.drive(13.5, switch=True, diode=False)
    trace = []
    while relay.t < 0.02:
        relay.advance(relay.t + 20e-6)
        trace.append((relay.t, relay.i, relay.s))
    seated_at = next(t for t, _, s in trace if s >= relay.mechanics.travel)
    peak_at, peak = max(((t, i) for t, i, _ in trace if t <= seated_at), key=lambda point: point[1])
    dip_at, dip = min(((t, i) for t, i, _ in trace if peak_at < t < 0.012), key=lambda point: point[1])
    assert dip < 0.97 * peak
    assert abs(dip_at - seated_at) < 0.5e-3
    assert next(s for t, _, s in trace if t == dip_at) > 0.9 * relay.mechanics.travel
    assert trace[-1][1] > 1.1 * dip
