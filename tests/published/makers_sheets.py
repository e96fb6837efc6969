"""The published figures of makers' sheets, written down a second time: what ratings and their limits are held to.

How each row is known: READ in the maker's data sheet or a distributor's copy of it, unless a note beside it says
otherwise. Coils are within 10 % either way in all of these sheets. None: the sheet gives no such figure, or only a
typical one, which is no limit. Nothing here is taken from a rating file.
"""

from dataclasses import dataclass
from pathlib import Path

from pulldrop.protocol.shipped import library

OWN = Path(__file__).parent / "main_job" / "sheets"
COIL_TOLERANCE = 10.0
"""Percent."""


@dataclass(frozen=True)
class Row:
    """One line of a sheet, in its own units: ohm, volts, milliseconds, (millivolts, amps), amps."""

    name: str
    form: str
    nominal_v: float
    coil_ohm: float
    pull_in_v: float | None
    drop_out_v: float | None
    operate_ms: float | None
    release_ms: float | None
    drop_no: tuple[float, float] | None
    drop_nc: tuple[float, float] | None
    no_a: float
    nc_a: float | None
    suppression: str | None = None

    @property
    def file(self) -> Path:
        """Its rating file, of the tests or as shipped."""
        own = OWN / f"{self.name}.yaml"
        return own if own.is_file() else library.find_rating(self.name)

    @property
    def edges(self) -> dict[str, tuple[float | None, float | None]]:
        """The lines that the sheet has: lowest and highest of a measurement, in ohm, V and s."""
        half = self.coil_ohm * COIL_TOLERANCE / 100
        by_id = {
            "coil_resistance_20c": (self.coil_ohm - half, self.coil_ohm + half),
            "pull_in_voltage_20c": (None, self.pull_in_v),
            "drop_out_voltage": (self.drop_out_v, None),
            "operate_time": (None, thousandth(self.operate_ms)),
            "release_time": (None, thousandth(self.release_ms)),
            "contact_drop_no": (None, thousandth(self.drop_no and self.drop_no[0])),
            "contact_drop_nc": (None, thousandth(self.drop_nc and self.drop_nc[0])),
        }
        return {id: edge for id, edge in by_id.items() if edge != (None, None)}

    def drop_at(self, id: str) -> float | None:
        """Amps at which the sheet gives this drop; None for what is no drop."""
        drop = {"contact_drop_no": self.drop_no, "contact_drop_nc": self.drop_nc}.get(id)
        return drop and drop[1]


def thousandth(figure: float | None) -> float | None:
    """Milliseconds in s, millivolts in V."""
    return None if figure is None else figure / 1000


SHEETS = (
    # Hongfa HFV4: 100 mohm at 1 A 6 V, hence 100 mV at 1 A (calculated). NO 40 A; changeover 30/20 A.
    Row("hongfa-hfv4-12v-form-a", "A", 12, 85, 7.8, 1.2, 7, 5, (100, 1), None, 40, None),
    Row("hongfa-hfv4-12v-form-c", "C", 12, 85, 7.8, 1.2, 7, 5, (100, 1), (100, 1), 30, 20),
    Row("hongfa-hfv4-24v-form-a", "A", 24, 350, 15.6, 2.4, 7, 5, (100, 1), None, 40, None),
    Row("hongfa-hfv4-24v-form-c", "C", 24, 350, 15.6, 2.4, 7, 5, (100, 1), (100, 1), 30, 20),
    # Hongfa HFV15: coil second hand, from a distributor; currents at 85 degC.
    Row("hongfa-hfv15-12v-form-c", "C", 12, 90, None, None, 10, 10, (250, 10), (250, 10), 40, 30),
    # TE Power Relay F4: coil second hand, from a distributor; times are typical ones only; currents at 85 degC.
    Row("te-f4-12v-form-c", "C", 12, 90, None, None, None, None, (200, 10), (250, 10), 40, 30),
    # TE Power Relay K: times are typical ones only.
    Row("te-k-12v-form-c", "C", 12, 90, 6.9, 1.2, None, None, (300, 10), (300, 10), 45, 30),
    # Panasonic CB1F-D-12V: coil calculated from 117 mA at 12 V. In its numbers 1 is a changeover, D is with diode.
    Row("panasonic-cb1f-12v-form-c", "C", 12, 102.6, 7.0, 1.2, None, None, None, None, 40, None, "diode"),
    # CIT A2, two coils for each voltage; contact resistance without its current, hence no drop.
    Row("cit-a2-12v-90ohm-form-c", "C", 12, 90, 8.4, 1.2, 7, 5, None, None, 40, 30),
    Row("cit-a2-12v-76ohm-form-c", "C", 12, 75.8, 8.4, 1.2, 7, 5, None, None, 40, 30),
    Row("cit-a2-24v-360ohm-form-c", "C", 24, 360, 16.8, 2.4, 7, 5, None, None, 20, 15),
    Row("cit-a2-24v-303ohm-form-c", "C", 24, 303.2, 16.8, 2.4, 7, 5, None, None, 20, 15),
    # CIT A1 micro, two coils.
    Row("cit-a1-12v-120ohm-form-c", "C", 12, 120, 8.4, 1.2, 10, 7, None, None, 20, None),
    Row("cit-a1-12v-96ohm-form-c", "C", 12, 96, 8.4, 1.2, 10, 7, None, None, 20, None),
    Row("foocles-micro-12v-form-c", "C", 12, 80, 8.4, 1.2, 10, 5, None, None, 30, 20),
    # Durakool DG55: 1.8 W with its resistor, hence 80 ohm at 12 V, and 0.1 of nominal (calculated); times typical.
    Row("durakool-dg55-12v-form-a", "A", 12, 80, None, 1.2, None, None, None, None, 40, None, "resistor"),
    Row("durakool-dg55-12v-form-c", "C", 12, 80, None, 1.2, None, None, None, None, 40, 30, "resistor"),
    Row("oen-79-12v-form-c", "C", 12, 75, 8, None, 10, 7, (50, 10), None, 25, 10),
    # Of the tests alone, from here on. Panasonic CB1F-D-12V with its operate time (second hand; read for R).
    Row("panasonic-cb-12v-form-c-diode", "C", 12, 102.6, 7.0, 1.2, 15, None, None, None, 40, None, "diode"),
    # Panasonic CB1F-R: coil calculated from 134 mA at 12 V (second hand, as are its volts).
    Row("panasonic-cb-12v-form-c-resistor", "C", 12, 89.6, 7.0, 1.2, 15, None, None, None, 40, None, "resistor"),
    # Panasonic CM: with resistor calculated from 1.7 W; release 10 ms, 15 ms with diode; currents at 85 degC.
    Row("panasonic-cm-12v-form-a", "A", 12, 96, 7.0, 1.2, 10, 10, None, None, 20, None, "none"),
    Row("panasonic-cm-12v-form-c-diode", "C", 12, 96, 7.0, 1.2, 10, 15, None, None, 20, 10, "diode"),
    Row("panasonic-cm-12v-form-c-resistor", "C", 12, 84.7, 7.0, 1.2, 10, 10, None, None, 20, 10, "resistor"),
    Row("panasonic-cm-24v-form-c", "C", 24, 320, 14.0, 2.4, 10, 10, None, None, 15, 8, "none"),
)

BY_NAME = {row.name: row for row in SHEETS}
