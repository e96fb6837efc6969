"""What each fault does to each clue, and what to do then. No reasoning here, only the trade's rules.

Units and sources are those of `sound.py`: coil more than 15 % low: shorted turns, 10 % high: drift; over 100 mV at
10 A: worn or burnt; drop-out under 10 %: weak spring or magnetism; operate over 10 ms: sluggish; bounce over 5 ms. What
a fault does not name is as on a sound part.
"""

from dataclasses import replace

from pulldrop.judge.diagnosis.bands import AnySign, Band, Expected, Perhaps
from pulldrop.judge.diagnosis.contact_faults import (
    AT_THE_ROOT,
    CLEAN_OR_LIGHT,
    NOT_87A,
    contact_fault,
    corroded,
)
from pulldrop.judge.diagnosis.evidence.clue import Motion, Reversal
from pulldrop.judge.diagnosis.fault import RARE, USUAL, PartFault
from pulldrop.judge.diagnosis.sound import (
    ANY,
    AT_REST,
    BOTH_CLOSED,
    BOTH_OPEN,
    COIL_SOFT,
    ENDLESS,
    FIRST_DROP,
    GONE,
    HELD_ON,
    JUNCTION,
    LEAKING,
    LET_GO,
    MOVES,
    NEVER,
    NO_CLOSED,
    NO_OPEN,
    OPERATED,
    RESTS,
    TRIPS,
    A,
    C,
)
from pulldrop.model.measurement import Clamped
from pulldrop.model.part.relay import NC, NO
from pulldrop.model.scale import LIGHT_DUTY

REVERSED_PULSES = "Reversed pulses, by the protocol relay-reversed: it asks you to exchange the leads to 85 and 86."
LIMITS_MET = (
    "Mark it with what is named here, use it only where nobody comes to harm when it fails, and test it again soon."
)
"""Instead of advice to scrap a part, or never to fit it, which has met all its limits."""
_MORE_HOT_MAKES = "Ten more makes under load, if the part may be lost by them."
_AFTER_COIL = (
    "clamp", "hot", "after_load", "after_hot", "after_hot_nc", "operated",
    "motion", "pull_in", "drop_out", "start", "operate",
    "release", "bounce_no", "bounce_nc",
    "drop_no", "drop_nc", "scatter_no", "scatter_nc", "dry_no", "dry_nc", "after_no", "after_nc", "climb", "overdriven",
)  # fmt: skip
_DEAD_COIL: dict[str, Expected] = dict.fromkeys(_AFTER_COIL, GONE)
_NO_SWITCHING: dict[str, Expected] = dict.fromkeys(
    ("release", "bounce_no", "bounce_nc", "after_load", "after_hot", "after_hot_nc", "overdriven"), GONE
)
_NO_NO: dict[str, Expected] = dict.fromkeys(("drop_no", "scatter_no", "dry_no", "after_no", "climb"), GONE)
_NO_NC: dict[str, Expected] = dict.fromkeys(("drop_nc", "scatter_nc", "dry_nc", "after_nc"), GONE)
_RESTING: dict[str, Expected] = {
    "operated": AT_REST, "motion": RESTS, "pull_in": NEVER, "drop_out": GONE, "operate": ENDLESS,
    "scatter_nc": ANY,  # NC is never made again
    **_NO_SWITCHING, **_NO_NO,
}  # fmt: skip
_NO_STEPS: dict[str, Expected] = dict.fromkeys(
    ("operated", "pull_in", "drop_out", "operate", "release", "bounce_no", "bounce_nc", "after_load", "after_hot",
     "after_hot_nc", "climb", "overdriven", "leak_open"), GONE,
)  # fmt: skip


_LATE = Perhaps(Band(14e-3, 10.0, or_missing=0.2), Band(0.5e-3, 14e-3, or_missing=0.2))
"""What lets go late does so after a load, too."""
_KNOCK = "A knock on the case with everything switched off, and the same again:"
_LETS_GO_LATE = "Use it only where nothing depends on its letting go: at low volts it hangs on."
FAULTS: tuple[PartFault, ...] = (
    PartFault(
        "coil_open", "coil open",
        "Scrap it: the winding is broken.",
        _DEAD_COIL | {"half_volt": Band(20.0, 1e6), "coil": Band(30.0, 1e6), "drop_nc": ANY},
        "Ohms between 85 and 86 with a meter, both ways round, while the blades are moved.",
    ),
    PartFault(
        "coil_open_behind_resistor", "coil open behind its resistor",
        "Scrap it: only the suppression resistor is left across the coil.",
        _RESTING | {"clamp": ANY, "half_volt": Band(4.5, 1e3), "coil": Band(5.2, 16.0)},
        "Current against time at 13.5 V: a resistor takes its current at once, a winding in milliseconds.",
    ),
    PartFault(
        "coil_shorted", "coil or its suppression shorted",
        "Scrap it; look for a blown fuse or a burnt driver in its circuit, and never fit a bigger fuse.",
        _DEAD_COIL | {"half_volt": Band(1e-3, 0.3), "coil": Band(1e-3, 0.3), "held": Band(1e-3, 0.4), "trip": TRIPS},
        "None is worth it: a shorted winding and a shorted suppressor are scrap alike; without one the spike is back.",
    ),
    PartFault(
        "diode_reversed", "suppression diode the wrong way round for this polarity",
        "Switch off, exchange the leads to 85 and 86, test again; fit it only where the polarity is the same, else it"
        " shorts its driver or blows its fuse.",
        _DEAD_COIL | {"half_volt": Band(0.3, 6.0), "coil": Band(1e-3, 0.3), "held": JUNCTION, "trip": TRIPS},
        "The same test with 85 and 86 exchanged.",
        fate="fit", needs="coil",  # at half a volt the winding reads, of whatever volts; it conducts at the one after
    ),
    PartFault(
        "shorted_turns", "turns of the coil shorted",
        "Scrap it: the coil runs hot, and gets worse.",
        {"half_volt": Band(0.3, 0.9), "coil": Band(0.2, 0.84, COIL_SOFT), "pull_in": Band(0.25, 1.6),
         "drop_out": Band(0.1, 0.6), "release": Band(2.2e-3, 14e-3), "trip": TRIPS},
        "Ohms against the maker's sheet: the class alone spans as much as shorted turns take away.",
        called="shorted turns",
    ),
    PartFault(
        "coil_high", "coil resistance high: wire corroded, or a joint about to open",
        "Do not trust it: test it by the protocol relay-soak, which warms it, and let it cool"
        " before you take it out.",
        {"half_volt": Band(1.05, 2.4), "coil": Band(1.12, 2.2, COIL_SOFT), "operate": Band(2.6e-3, 14e-3),
         "start": Band(0.8e-3, 8e-3), "pull_in": Band(0.3, 1.4)},
        "Five minutes with the coil on: a cracked joint jumps or opens hot.",
        fate="fit",
        called="a corroded winding",
    ),
    PartFault(
        "suppression_missing", "suppression missing or broken: no clamp where the maker has one",
        "Fit it only where the driver has a clamp of its own; its spike of 1000 V and more kills electronics, and"
        " fingers feel it.",
        {"clamp": AnySign((Clamped.BENCH,)), "release": Band(1.3e-3, 5e-3)},
        "Read the print on the case: it shows a diode or a resistor where there is one.",
        fate="fit",
    ),
    PartFault(
        "opens_hot", "coil opens when it is warm: a cracked joint",
        "Scrap it: it fails on the road and is good again on the bench.",
        {"hot": Band(2.0, 1e5)},
        "Five minutes with the coil on, then a tap on the case with a plastic handle, hands away from the blades:"
        " scrap it if it opens.",
    ),
    PartFault(
        "tacking", "contact 87 tacks: it stays closed after its load",
        "Scrap it: it will weld; look for a heavy lamp or motor load in its circuit, its fuse out.",
        {"after_load": ENDLESS, "after_hot_nc": Band(0.98, 1.04, 0.015, or_missing=0.9), "climb": ANY,
         "overdriven": ANY, "drop_no": Band(1e-3, 0.05, or_missing=0.2)},
        "Ten more makes at 20 A, if the part may be lost by them.", pairs=(NO,), needs="after_load",
    ),
    PartFault(
        "tacking_hot", "contact 87 tacks when it closes on its load: it lets go late, or stays closed",
        "Do not fit it where it switches a load on: one day it stays closed; look for a lamp or motor load beyond its "
        "rating in its circuit, its fuse out.",
        {"after_hot": Band(1.08, 50.0), "overdriven": Band(0.95, 1.05, 0.015, or_missing=0.5),
         "after_hot_nc": Band(0.98, 1.04, 0.015, or_missing=0.5)},
        _MORE_HOT_MAKES, pairs=(NO,), needs="after_hot",
        fate="fit with care",
    ),
    PartFault(
        "tacking_hot_nc", "contact 87a tacks when it closes on its load: it opens late, or stays closed",
        "Do not fit it: one day 87a stays closed.",
        {"after_hot_nc": Band(1.08, 50.0), "overdriven": Band(0.95, 1.05, 0.015, or_missing=0.5)},
        _MORE_HOT_MAKES, pairs=(NC,), needs="after_hot_nc", spared=NOT_87A,
    ),
    PartFault(
        "wrong_voltage", "coil of another voltage: wound for twice the nominal",
        "Nothing may be wrong with it: sort it with the parts of its own voltage and test it there.",
        {"half_volt": Band(2.4, 6.0), "coil": Band(2.6, 5.2), "operated": ANY, "motion": ANY, "pull_in": ANY,
         "drop_out": ANY, "start": ANY, "operate": ANY, "first_make": ANY, "first_no": ANY,
         **dict.fromkeys(_NO_SWITCHING, ANY), **dict.fromkeys(_NO_NO, ANY)},
        "The same test with a rating of 24 V.",
        only_where=("coil", Band(1.89, 5.2)),  # from 170 ohm in place of 90 on, as crates are sorted
        fate="fit",
    ),
    PartFault(
        "normally_closed", "87a opens and 87 does not close: a normally closed part (Form B), or a dead contact 87",
        "Look at it again and count its blades: with no 87 it is normally closed, tested by a rating of Form B; with"
        " an 87, scrap it, because 87 carries nothing.",
        {"rest": AnySign((C.at("rest"),)), "operated": AnySign((BOTH_OPEN, A.at("rest"))), "pull_in": NEVER,
         "drop_out": GONE, "operate": ENDLESS, **_NO_SWITCHING, **_NO_NO},
        "Blades, or the print on the case: a normally closed part has no 87.",
        share=2 * USUAL,  # a form and a fault that look alike
        pairs=(NO,),
        alone=True,
        fate="fit with care",
    ),
    PartFault(
        "normally_open", "contact 87a missing: a normally open part (Form A), or a changeover part whose 87a is broken",
        "Look at it again and count its blades: without 87a test it by a rating of Form A; with one, fit it only where"
        " 87a has no wire, if all else is good.",
        {"rest": AnySign((BOTH_OPEN, A.at("rest"))), "released": AnySign((BOTH_OPEN, A.at("rest"))), "release": GONE,
         "bounce_nc": GONE, "after_hot_nc": GONE, **_NO_NC},
        "Blades, or the print on the case: a normally open part has no 87a.",
        share=2 * USUAL,  # a form and a fault that look alike
        pairs=(NO, NC),
        alone=True,
        fate="fit with care",
    ),
    PartFault(
        "stuck_at_rest", "armature stuck at rest: jammed, or held by a weld",
        "Scrap it: the coil is good and nothing moves.",
        _RESTING,
        f"{_KNOCK} dirt lets go, rust does not. Scrap it all the same: what stuck once sticks again.",
    ),
    PartFault(
        "sticks_after_rest", "armature sticks after rest: its first make is late or missing, later ones are not",
        "Do not fit it where its first make counts, as in a vehicle that is laid up: after its next long rest it sticks"
        " again.",
        {"first_make": Band(1.6, 50.0), "first_no": replace(FIRST_DROP, or_missing=0.9)},
        "Leave it for a month and test again: old grease and resin set at rest.",
        needs="first_make",
        fate="fit with care",
    ),
    PartFault(
        "stuck_operated", "armature stuck in the operated place: jammed, or held by a weld",
        "Scrap it at once: it leaves its load as if the coil were on.",
        _NO_STEPS | _NO_NC | {"rest": OPERATED, "motion": RESTS, "start": ANY, "scatter_no": ANY, "released": OPERATED,
                                "reversal": HELD_ON},
        f"{_KNOCK} dirt lets go. {REVERSED_PULSES} They make a magnetised part let go. Either way it is scrap.",
        told_by="reversal",
    ),
    PartFault(
        "welded_no", "contact 87 welded",
        "Scrap it at once: 30 and 87 stay connected; look for a short or a heavy lamp load in its circuit, its fuse"
        " out, and never fit a bigger fuse.",
        _NO_STEPS | _NO_NC | {"rest": AnySign((*NO_CLOSED, BOTH_CLOSED)), "motion": MOVES,
                                "start": Band(0.1e-3, 4.5e-3), "scatter_no": ANY, "reversal": HELD_ON,
                                "released": AnySign((*NO_CLOSED, BOTH_CLOSED))},
        f"{_KNOCK} a weld holds, a jammed armature may let go. Either way it is scrap.", pairs=(NO,),
    ),
    PartFault(
        "welded_nc", "contact 87a welded",
        "Scrap it: 30 and 87a stay connected, whatever its coil does.",
        {"operated": AnySign((*NO_OPEN, BOTH_CLOSED)), "motion": MOVES, "start": Band(1e-3, 12e-3),
         "pull_in": NEVER, "drop_out": GONE, "operate": ENDLESS, **_NO_SWITCHING, **_NO_NO, "scatter_nc": ANY},
        f"{_KNOCK} a weld holds, a jammed armature may let go. Either way it is scrap.", pairs=(NC,),
    ),
    contact_fault("burnt", "no"),
    contact_fault("burnt", "nc"),
    contact_fault("film", "no"),
    contact_fault("film", "nc"),
    contact_fault("insulates_after_rest", "no"),
    contact_fault("insulates_after_rest", "nc"),
    contact_fault("dead", "no"),
    contact_fault("dead", "nc"),
    PartFault(
        "corroded_blade", "blade 30 or its rivet corroded: both throws lose the same, with every make",
        "Out of its socket, clean the blades, then test again; scrap it when the drop stays.",
        corroded("no", "nc"),
        AT_THE_ROOT,
        RARE,
        pairs=(NO, NC),
        advice_worn=CLEAN_OR_LIGHT,
        fate="fit with care",
    ),
    contact_fault("terminal", "no"),
    contact_fault("terminal", "nc"),
    PartFault(
        "under_rated", "too little metal for the load: the drop climbs from pulse to pulse",
        "Do not fit it: it warms under its load, and would under less.",
        {"climb": Band(1.04, 4.0, 0.005), "drop_no": Band(2e-3, 25e-3),
         **{key: Band(2e-3, 25e-3) for key in ("dry_no", "after_no")}},
        "Weigh it against a known one of its type: less metal weighs less.",
        pairs=(NO,),
        needs="climb",
        advice_worn=f"{LIGHT_DUTY} Pulses cannot prove a rated current.",
    ),
    PartFault(
        "leak_contact", "water, dirt or a carbon track over the open contact",
        "Do not fit it: dry it in a warm room for a day and test again, and scrap it when the leak stays: a carbon"
        " track can burn.",
        {"leak_open": LEAKING},
        "The same test on a dry day: water goes, a carbon track stays.",
        pairs=(NO,),
    ),
    PartFault(
        "leak_coil", "water, dirt or a carbon track between coil and contacts",
        "Do not fit it: dry it in a warm room for a day and test again, and scrap it when the leak stays: a carbon"
        " track can burn.",
        {"leak_coil": LEAKING},
        "The same test on a dry day: water goes, a carbon track stays.",
    ),
    PartFault(
        "weak_spring", "return spring weak",
        "Do not fit it where it must let go: it hangs on at low volts, and 87a is barely pressed.",
        {"pull_in": Band(0.12, 0.40), "drop_out": Band(0.01, 0.22), "start": Band(0.5e-3, 2.1e-3),
         "operate": Band(2e-3, 4.2e-3), "gap": Band(0.2, 0.7), "after_load": Band(0.5e-3, 30e-3),
         "overdriven": Perhaps(Band(0.75, 1.3, 0.05), Band(0.95, 1.05, 0.015)),
         "after_hot": Band(0.97, 1.2),
         # with a diode it may let go too late for the window, and NC is not seen to close
         "bounce_nc": Band(0.4e-3, 30e-3, or_missing=0.1), "release": Band(1.8e-3, 30e-3, or_missing=0.1),
         "after_hot_nc": Band(0.95, 1.05, 0.02, or_missing=0.1), "drop_nc": Band(1e-3, 10.5e-3, or_missing=0.1),
         "scatter_nc": Band(1e-8, 1.5e-3, or_missing=0.1),
         **{key: Band(0.8e-3, 14e-3, or_missing=0.1) for key in ("dry_nc", "after_nc")}},
        "Drop-out with the part upside down: weight helps a weak spring, and does nothing to magnetism.",
        advice_met=_LETS_GO_LATE,
        fate="fit with care",
        called="a weak spring",
    ),
    PartFault(
        "residual_magnetism", "iron stays magnetised",
        "Do not fit it where it must let go: it may stay operated with the coil off.",
        {"pull_in": Band(0.18, 0.48), "drop_out": Band(1e-4, 0.11), "start": Band(0.8e-3, 3.0e-3),
         "operate": Band(2e-3, 5e-3), "release": Band(1.3e-3, 30e-3, or_missing=0.1), "gap": Band(1e-3, 0.26),
         "after_load": _LATE,
         "overdriven": Perhaps(Band(0.1, 1.02, or_missing=0.2), Band(0.95, 1.05, 0.015, or_missing=0.2)),
         "after_hot": Perhaps(Band(0.97, 1.4, or_missing=0.2), Band(0.98, 1.04, 0.015, or_missing=0.2)),
         "after_hot_nc": Band(0.97, 1.04, 0.015, or_missing=0.2),
         # no rise may also be a lead that was not exchanged, which the bench cannot see
         "reversal": AnySign((Reversal.RISEN, Reversal.SAME))},
        f"{REVERSED_PULSES} They raise the drop-out of a magnetised part, and of no other.", told_by="reversal",
        advice_met=_LETS_GO_LATE,
        fate="fit with care",
        called="magnetised iron",
    ),
    PartFault(
        "held_operated", "stays operated with the coil off, once operated: magnetised iron, or a hinge that jams",
        "Scrap it: after its first use it leaves its load as if the coil were on.",
        {"motion": AnySign((Motion.RESTS, Motion.RESTS, Motion.MOVES)), "pull_in": ANY, "drop_out": ANY,
         **_NO_SWITCHING,
         # times come first: what only the load or a walk magnetises in full still let go then
         "operate": Perhaps(ENDLESS, Band(2e-3, 9e-3)), "release": Band(1.3e-3, 30e-3, or_missing=0.6),
         "bounce_no": Band(0.1e-3, 5e-3, or_missing=0.6), "bounce_nc": Band(0.1e-3, 8e-3, or_missing=0.6),
         **dict.fromkeys(_NO_NC, ANY), "scatter_no": ANY, "climb": ANY, "overdriven": ANY,
         "released": OPERATED, "reversal": HELD_ON},
        f"{REVERSED_PULSES} They make a magnetised part let go, a jammed one not.", share=0.004, told_by="reversal",
    ),
    PartFault(
        "held_magnetised", "stays operated with the coil off, once operated: its iron stays magnetised",
        "Scrap it: after its first use it leaves its load as if the coil were on. The pulse that freed it does not"
        " mend the iron.",
        {"rest": AnySign(NO_OPEN + NO_CLOSED), "motion": ANY, "pull_in": ANY, "drop_out": ANY, "operate": ENDLESS,
         **_NO_SWITCHING, **dict.fromkeys(_NO_NC, ANY), "scatter_no": ANY, "climb": ANY, "overdriven": ANY,
         "released": OPERATED, "reversal": LET_GO},
        needs="reversal",
    ),
    PartFault(
        "sluggish", "sluggish: friction in the hinge",
        "Do not fit it: it moves late, needs more volts than it should, and will stick one day.",
        {"pull_in": Band(0.58, 1.6, or_missing=0.3), "drop_out": Band(0.02, 0.22, or_missing=0.4),
         "gap": Band(1e-3, 0.26),
         **{key: Perhaps(Band(0.7, 1.4, 0.05, or_missing=0.3), Band(0.96, 1.05, 0.015, or_missing=0.3))
            for key in ("overdriven", "after_hot", "after_hot_nc")},
         "start": Band(3.4e-3, 12e-3), "operate": Band(5e-3, 20e-3, or_missing=0.1),
         "release": Band(1.3e-3, 30e-3, or_missing=0.2), "bounce_nc": Band(0.4e-3, 3.6e-3, or_missing=0.2),
         "after_load": _LATE,
         "moves": Band(8e-3, 0.5),
         **{key: Band(1e-3, 11e-3, or_missing=0.1) for key in ("drop_nc", "dry_nc", "after_nc")}},
        "The protocol relay-full, which walks three times: friction scatters, a strong spring does not.", share=0.03,
        called="friction in the hinge",
    ),
    PartFault(
        "bouncing", "contacts bounce too long",
        "Scrap it: every bounce burns the contact.",
        {"bounce_no": Band(0.4e-3, 30e-3), "bounce_nc": Band(1e-3, 40e-3)},
        "The same test of its siblings: contacts of some designs bounce as long.",
        advice_met="Use it only where it switches seldom: every bounce burns.",
        called="contacts that bounce too long",
    ),
)  # fmt: skip
