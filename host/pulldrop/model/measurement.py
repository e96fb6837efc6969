"""The catalogue of everything that can be measured, a row each; the ids are stable, stored for years, never reused."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from pulldrop.model.part.pair import Pair
from pulldrop.model.part.relay import NC, NO, TWIN


@dataclass(frozen=True, slots=True)
class Rated:
    """The figure of a rating that `rated` stands for in a limit, and on which side it bounds."""

    figure: str
    side: Literal["highest", "lowest", "nominal"]


@dataclass(frozen=True, slots=True)
class Measurement:
    """All that is known of one measurable thing.

    `unit`: SI, "" for a contact state. `meaning`: what is measured. `failed`: what a failed limit says of the part.
    `of_nominal`: a share of the coil's nominal volts can be its limit. `needs`: pairs without which no part has it.
    `wears`: a relay wears by it, and the same test gives it again, so that a fleet is compared by it.
    `loaded`: whoever has a reading of it has carried a load.
    `at`: of contacts, the state of a sound part in which they are looked at.
    `cleaned`: of a contact's surface, so that a series of it begins anew once its contacts were cleaned.
    `at_20`: it holds for a part at 20 degC; `instead`: the id of the one that does and says the same, where a run has
    both; `warmth`: what a series brings it to 20 degC by, the winding's ohms as volts follow them, or as times do.
    """

    id: str
    title: str
    unit: str
    meaning: str
    failed: str
    rated: Rated | None = None
    of_nominal: bool = False
    needs: tuple[Pair, ...] = ()
    wears: bool = False
    loaded: bool = False
    at: Literal["", "rest", "operated"] = ""
    cleaned: bool = False
    at_20: bool = False
    instead: str = ""
    warmth: Literal["", "volts", "time"] = ""

    @property
    def pair(self) -> Pair | None:
        """The pair that it is of; None where it is of the part, or of several."""
        return self.needs[0] if len(self.needs) == 1 else None


MEASUREMENTS = {
    m.id: m
    for m in (
        Measurement("contact_rest", "contacts at rest", "",
                    "which throw is closed with the coil off",
                    "a throw is stuck or welded, or carries nothing even at rest",
                    at="rest"),
        Measurement("first_operate_time", "first make", "s",
                    "coil on to the contacts' change the first time that the coil is energised in a run, at nominal"
                    " volts",
                    "its first make is late or missing, however well later ones go: the armature sticks or a film"
                    " insulates, and it will do so again after its next long rest",
                    warmth="time"),
        Measurement("first_drop_no", "first load of 87 (NO)", "V",
                    "contact drop of 87 under the first load that it carries in a run, in its first make",
                    "contact 87 does not carry its first load, however well it carries later ones",
                    needs=(NO,), cleaned=True),
        Measurement("first_drop_nc", "first load of 87a (NC)", "V",
                    "contact drop of 87a under the first load that it carries in a run, before the coil is energised",
                    "contact 87a does not carry its first load, however well it carries later ones",
                    needs=(NC,), cleaned=True),
        Measurement("contact_operated", "contacts operated", "",
                    "which throw is closed with the coil at its test voltage",
                    "a throw does not change over although the coil is on",
                    at="operated"),
        Measurement("coil_resistance", "coil resistance", "ohm",
                    "coil volts over coil amps, at the temperature of the bench",
                    "the coil is open, shorted, or of another voltage class",
                    instead="coil_resistance_20c"),
        Measurement("coil_resistance_20c", "coil resistance at 20 degC", "ohm",
                    "the same, brought to 20 degC by the copper law",
                    "the coil is open, shorted, or of another voltage class",
                    rated=Rated("coil_resistance", "nominal"), wears=True, at_20=True),
        Measurement("coil_current", "coil current", "A",
                    "at the coil's nominal voltage",
                    "the coil takes the wrong current",
                    instead="coil_resistance_20c"),
        Measurement("winding_drift", "warming at rest", "K",
                    "kelvin a minute by which the winding warms with the coil off, by its ohms before and after a rest",
                    "its winding is not as warm as the bench, so what is brought to 20 degC is off"),
        Measurement("pull_in_voltage", "pull-in voltage", "V",
                    "lowest coil voltage at which 87 closes, without 87 at which 87a opens, coming up from zero after"
                    " magnetising",
                    "it needs too much voltage to pull in",
                    rated=Rated("pull_in_most", "highest"), of_nominal=True, instead="pull_in_voltage_20c"),
        Measurement("pull_in_voltage_20c", "pull-in voltage at 20 degC", "V",
                    "the same, for a coil at 20 degC",
                    "it needs too much voltage to pull in",
                    rated=Rated("pull_in_most", "highest"), of_nominal=True, wears=True, at_20=True),
        Measurement("pull_in_current", "pull-in current", "A",
                    "coil current at pull-in; does not change with coil temperature",
                    "it needs too much current to pull in"),
        Measurement("drop_out_voltage", "drop-out voltage", "V",
                    "highest coil voltage at which the relay lets go, coming down from nominal",
                    "it lets go too late: weak spring, sticking armature or residual magnetism",
                    rated=Rated("drop_out_least", "lowest"), of_nominal=True, wears=True, warmth="volts"),
        Measurement("operate_time", "operate time", "s",
                    "coil on to the first closing of 87, without 87 the first opening of 87a; bounce not counted",
                    "it operates too slowly, or not at all",
                    rated=Rated("operate_most", "highest"), wears=True, warmth="time"),
        Measurement("release_time", "release time", "s",
                    "coil off to the first closing of 87a, without 87a the first opening of 87",
                    "it lets go too slowly, or not at all",
                    rated=Rated("release_most", "highest"), wears=True),
        Measurement("bounce_time_no", "bounce of 87 (NO)", "s",
                    "first to last edge as 87 closes",
                    "contact 87 bounces too long",
                    needs=(NO,), wears=True),
        Measurement("bounce_time_nc", "bounce of 87a (NC)", "s",
                    "first to last edge as 87a closes",
                    "contact 87a bounces too long",
                    needs=(NC,)),
        Measurement("transfer_time", "transfer time", "s",
                    "87a opening to 87 closing as the relay operates",
                    "the changeover is out of its range",
                    needs=(NO, NC)),
        Measurement("contact_drop_no", "contact drop of 87 (NO)", "V",
                    "four-wire, terminal 30 to 87, at the load current; median of the makes",
                    "contact 87 does not carry the load, however well it clicks",
                    rated=Rated("drop_no", "highest"), needs=(NO,), wears=True, cleaned=True, loaded=True),
        Measurement("contact_drop_twin", "contact drop of the second 87", "V",
                    "four-wire, terminal 30 to the second blade 87, in the place of 87a, at the load current; median of"
                    " the makes",
                    "the second blade 87 does not carry the load",
                    rated=Rated("drop_no", "highest"), needs=(TWIN,), wears=True, cleaned=True, loaded=True),
        Measurement("contact_drop_nc", "contact drop of 87a (NC)", "V",
                    "four-wire, terminal 30 to 87a, at the load current; median of the makes",
                    "contact 87a does not carry the load",
                    rated=Rated("drop_nc", "highest"), needs=(NC,), wears=True, cleaned=True, loaded=True),
        Measurement("contact_dry_nc", "dry resistance of 87a (NC)", "ohm",
                    "terminal 30 to 87a at rest, at a few mA: rough, and a filmed good contact reads high",
                    "contact 87a is filmed or burnt",
                    needs=(NC,), cleaned=True),
        Measurement("leakage_open_contact", "insulation of the open contact", "ohm",
                    "terminal 87 at rest against 30 and 87a, at 5 V; the leakier pair and polarity",
                    "current leaks over the open contact: water, dirt or a carbon track"),
        Measurement("leakage_coil_contact", "insulation of the coil", "ohm",
                    "coil against the contact terminals, at 5 V by 87; the leakiest pair and polarity",
                    "current leaks between coil and contacts: water, dirt or a carbon track"),
        Measurement("coil_resistance_low", "coil resistance at 0.5 V", "ohm",
                    "below the volts of a diode: a short shows here, a diode across the coil does not",
                    "the coil is open or shorted"),
        Measurement("armature_start_time", "start of the armature", "s",
                    "coil on to the armature leaving its rest, from the coil current; no contact is used",
                    "the armature starts too late, or not at all",
                    warmth="time"),
        Measurement("armature_seat_time", "seat of the armature", "s",
                    "coil on to the armature striking the core, from the dip of the coil current",
                    "the armature moves too slowly, or not at all",
                    warmth="time"),
        Measurement("contact_before_load_no", "dry resistance of 87 (NO) before load", "ohm",
                    "terminal 30 to 87 at 5 mA, before any load",
                    "contact 87 is filmed or burnt",
                    needs=(NO,), cleaned=True),
        Measurement("contact_loaded_no", "loaded resistance of 87 (NO)", "ohm",
                    "terminal 30 to 87 at the load current, in the same make",
                    "contact 87 does not carry the load, however well it clicks",
                    needs=(NO,), cleaned=True),
        Measurement("contact_after_load_no", "dry resistance of 87 (NO) after load", "ohm",
                    "terminal 30 to 87 at 5 mA again, in the same make",
                    "contact 87 is burnt, or its film does not break",
                    needs=(NO,), cleaned=True),
        Measurement("contact_scatter_no", "scatter of 87 (NO)", "ohm",
                    "standard deviation of the loaded resistance over the makes",
                    "contact 87 is another one with every make: burnt or loose",
                    needs=(NO,), cleaned=True),
        Measurement("contact_before_load_nc", "dry resistance of 87a (NC) before load", "ohm",
                    "terminal 30 to 87a at 5 mA, before any load",
                    "contact 87a is filmed or burnt",
                    needs=(NC,), cleaned=True),
        Measurement("contact_loaded_nc", "loaded resistance of 87a (NC)", "ohm",
                    "terminal 30 to 87a at the load current, in the same make",
                    "contact 87a does not carry the load",
                    needs=(NC,), cleaned=True),
        Measurement("contact_after_load_nc", "dry resistance of 87a (NC) after load", "ohm",
                    "terminal 30 to 87a at 5 mA again, in the same make",
                    "contact 87a is burnt, or its film does not break",
                    needs=(NC,), cleaned=True),
        Measurement("contact_scatter_nc", "scatter of 87a (NC)", "ohm",
                    "standard deviation of the loaded resistance over the makes",
                    "contact 87a is another one with every make: burnt or loose",
                    needs=(NC,), cleaned=True),
        Measurement("coil_resistance_hot", "coil resistance when hot", "ohm",
                    "coil volts over coil amps after the coil was held on",
                    "the coil opens or changes when it is hot"),
        Measurement("coil_rise", "rise of the coil", "K",
                    "how much warmer the winding is then, by the copper law",
                    "the coil gets too hot"),
        Measurement("pull_in_voltage_85c", "pull-in voltage at 85 degC", "V",
                    "pull-in current times coil resistance at 85 degC: a start beside a hot engine",
                    "it needs too much voltage to pull in when it is hot"),
        Measurement("release_after_load", "release after load", "s",
                    "coil off to the first opening of 87, right after it has carried its load",
                    "the contact tacks: it stays closed after its load",
                    needs=(NO,)),
        Measurement("release_after_hot_make", "release after a hot make", "s",
                    "coil off to the first opening of 87, the load off again, after it has closed on its load; the"
                    " slowest make, and each wears the contact",
                    "the contact tacks when it closes on its load: it opens late, or stays closed",
                    needs=(NO,)),
        Measurement("opening_after_hot_make_nc", "opening of 87a (NC) after a hot make", "s",
                    "coil on to the first opening of 87a, the load off again, after it has closed on its load; the"
                    " slowest make, and each wears the contact",
                    "87a tacks when it closes on its load: it opens late, or stays closed",
                    needs=(NC,)),
        Measurement("contact_climb_no", "climb of 87 (NO) under load", "%",
                    "how much the loaded resistance of one make grows from its first load pulse to its last",
                    "contact 87 has too little metal for the load, whatever is printed on it",
                    needs=(NO,), cleaned=True),
        Measurement("drop_out_overdriven", "drop-out after overdrive", "V",
                    "drop-out voltage again, after a magnetising voltage well above nominal",
                    "it lets go too late after high coil volts: its iron stays magnetised"),
        Measurement("contact_released", "contacts let go", "",
                    "which throw is closed with the coil off, right after it was operated",
                    "it stays operated with its coil off: its iron is magnetised, its hinge jams, or 87 is welded",
                    at="rest"),
        Measurement("drop_out_before_reversal", "drop-out before reversal", "V",
                    "drop-out voltage after a make as gentle as the part allows",
                    "it lets go too late: weak spring, sticking armature or residual magnetism",
                    of_nominal=True),
        Measurement("contact_reversed", "contacts after reversal", "",
                    "which throw is closed after pulses through exchanged coil leads",
                    "not even a reversed pulse makes it let go: its hinge jams, or 87 is welded",
                    at="rest"),
        Measurement("drop_out_after_reversal", "drop-out after reversal", "V",
                    "drop-out voltage again, the coil leads back in their place",
                    "it lets go too late: weak spring, sticking armature or residual magnetism",
                    of_nominal=True),
        Measurement("drop_out_rise", "rise by reversal", "V",
                    "how much the reversed pulses have raised the drop-out voltage",
                    "reversed pulses raise its drop-out: its iron stays magnetised",
                    of_nominal=True),
        Measurement("flyback_peak", "spike of the coil", "V",
                    "highest volts of the coil's low end above its supply after switch-off",
                    "the suppression of the coil is not what it should be"),
        Measurement("flyback_class", "what clamps the coil", "",
                    "what held the spike: a diode, a diode and a zener, or nothing below the bench's own clamp",
                    "the suppression of the coil is not what it should be"),
        Measurement("pair_dry", "ohms at a few mA", "ohm",
                    "terminal 30 to 87 at a few mA, before any load; of a lamp, its cold filament",
                    "it is open, or its contacts are filmed"),
        Measurement("pair_resistance", "cold resistance", "ohm",
                    "four-wire, terminal 30 to 87, median of short load pulses",
                    "its metal is not that of its rating, or its blades do not touch well",
                    rated=Rated("resistance", "nominal"), loaded=True),
        Measurement("pair_drop", "drop under load", "V",
                    "four-wire, terminal 30 to 87, at the load current, while it is cold",
                    "it drops too much"),
        Measurement("pair_scatter", "scatter from pulse to pulse", "ohm",
                    "standard deviation of its resistance over the load pulses",
                    "it is another one with every load: a crack, or a loose blade",
                    rated=Rated("resistance", "highest")),
        Measurement("pair_drop_hot", "drop at rated current", "V",
                    "not measured: cold resistance times rated current, times 1.3 to 1.7 for its own heat",
                    "it drops too much at its rated current"),
        Measurement("lamp_current", "current at rated volts", "A",
                    "by I ~ V^0.54 from what it comes to behind a load branch",
                    "it takes another current than is printed on it",
                    rated=Rated("current", "nominal"), loaded=True),
        Measurement("lamp_power", "power at rated volts", "W",
                    "that current times rated volts",
                    "it is not of the printed power"),
        Measurement("lamp_warming", "ohms warm over cold", "%",
                    "resistance after half a second of load over that at a few mA",
                    "it does not warm as a filament does"),
        Measurement("switch_table", "table of positions", "",
                    "which terminals each position joins, at a few mA, while a person turns it",
                    "its contacts or its springs are not those of its table",
                    rated=Rated("positions", "nominal")),
        Measurement("joint_most", "ohms of the worst joint", "ohm",
                    "highest of all pairs that a position joins, at a few mA, leads included",
                    "a closed pair is filmed or burnt"),
    )
}  # fmt: skip


class Clamped(StrEnum):
    """What held the spike of the coil; the values are kept in stores."""

    DIODE = "diode"
    ZENER = "zener"
    BENCH = "bench"
    OTHER = "other"

    @property
    def words(self) -> str:
        """For people."""
        return _CLAMPED[self]


_CLAMPED = {
    Clamped.DIODE: "held by a diode",
    Clamped.ZENER: "held by a diode and a zener",
    Clamped.BENCH: "held by the bench's clamp alone: no suppression, or a resistor",
    Clamped.OTHER: "held by something else",
}

WEAR = tuple(one.id for one in MEASUREMENTS.values() if one.wears)
"""What a fleet is compared by."""
