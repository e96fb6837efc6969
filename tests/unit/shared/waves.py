"""What an oscilloscope would show of the plant's coil, switched on or off: rows for `pulldrop waveform`."""

from functools import cache

from pulldrop.plant.relay.relay import NC, NO, RelayModel
from pulldrop.plant.specimen import Specimen, parts
from pulldrop.text.waveform import Waveform

PART = Specimen(title="invented", base="mini_12v_changeover", temperature_c=20.0)


@cache
def wave(on: bool, every_s: float = 10e-6, window_s: float = 0.03, part: Specimen = PART) -> Waveform:
    """The plant's coil switched on or off at 12 V, as an oscilloscope would show it."""
    relay = RelayModel(parts(part), 20.0)
    relay.drive(12.0, switch=not on, diode=False)
    relay.advance(0.3)
    start, seconds, amps, no, nc = relay.t, [], [], [], []
    for n in range(-20, round(window_s / every_s) + 1):
        if n == 0:
            relay.drive(12.0, switch=on, diode=False)
        if n > 0:
            relay.advance(start + n * every_s)
        for column, value in (
            (seconds, n * every_s),
            (amps, relay.i),
            (no, relay.touching[NO]),
            (nc, relay.touching[NC]),
        ):
            column.append(value)  # type: ignore[arg-type]  # each of its own type
    return Waveform("invented.csv", tuple(seconds), tuple(amps), tuple(no), tuple(nc), ())
