"""What a sound part shows, clue by clue, and the states and bands that the table of faults is written with.

Coil, pull-in and drop-out are shares of the rated resistance, the nominal current (of a class: of the part's own coil)
and the nominal voltage; times are
in seconds, contacts in ohms. Source of a figure without another one: common practice of the trade, widened for what
used parts of one class differ by, which is assumed.
"""

from collections.abc import Mapping
from dataclasses import replace

from pulldrop.judge.diagnosis.bands import AnySign, Anything, Band, Expected, Missing
from pulldrop.judge.diagnosis.evidence.clue import Motion, Reversal
from pulldrop.model.measurement import Clamped
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import FORMS, NC, Form

A, C = FORMS["A"], FORMS["C"]
NO_OPEN, NO_CLOSED = (C.at("rest"), A.at("rest")), (C.at("operated"), A.at("operated"))
BOTH_CLOSED, BOTH_OPEN = ContactState.of(C.pairs, C.pairs), ContactState.of(C.pairs, ())
AT_REST, OPERATED = AnySign(NO_OPEN), AnySign(NO_CLOSED)
MOVES, RESTS = AnySign((Motion.MOVES,)), AnySign((Motion.RESTS,))
ANY, GONE = Anything(), Missing()
UNCHANGED, LET_GO, HELD_ON = (AnySign((did,)) for did in (Reversal.SAME, Reversal.LET_GO, Reversal.HELD))
ENDLESS = Band(0.029, 10.0, 0.005)
"""A time beyond the window of 30 ms."""
NEVER = Band(1.0, 10.0)
"""Pull-in beyond nominal; a search ends at 1.4 times nominal."""


INSULATED, LEAKING = Band(1.5e6, 1e10), Band(10.0, 1.2e6)
"""Ohms between terminals that nothing should join: below 1 Mohm there is water or a carbon track."""
JUNCTION = Band(0.6, 0.76)
"""Volts across a silicon diode at 12 to 17 mA (1N4007 and 1N4148 data sheets, from memory)."""
TRIPS = Band(1.0, 100.0)
"""Current of a coil that the board switches off, as a share of the rated."""
WARMING = Band(0.99, 1.12, 0.005)
"""How the ohms of a corroded blade climb from pulse to pulse: more ohms are warmed more; no metal is missing."""
FIRST_DROP = Band(0.4, 2.5, 0.2)
"""Of a first load over later ones: worn contacts differ from make to make."""
RESISTOR_SHARE = 0.93
"""What a coil in the lower half of its tolerance may read with a resistor across it, which takes about 11 % off."""
COIL_SOFT = 0.02
"""A tolerance of the coil is kept within this (assumed): wire is measured as it is wound."""


CLAMP_OF = {
    "none": Clamped.BENCH, "resistor": Clamped.BENCH, "diode": Clamped.DIODE, "diode_zener": Clamped.ZENER,
}  # fmt: skip
"""What the bench sees of a suppression."""


def sound(tolerance: float, suppression: str | None = None, form: Form = "C") -> dict[str, Expected]:
    """What a sound part of this form shows; `tolerance` of the coil, as a share.

    `suppression`: what the rating says is across the coil; None: nobody knows, and anything is right.
    """
    beside = 1.0 if suppression in ("none", "diode", "diode_zener") else RESISTOR_SHARE
    return {
        "rest": AT_REST if NC in FORMS[form].pairs else AnySign((FORMS[form].at("rest"),)),
        "first_make": Band(0.85, 1.4),
        "first_motion": GONE,
        "first_no": FIRST_DROP,
        "first_nc": FIRST_DROP,
        "operated": OPERATED,
        "motion": MOVES,
        "held": Band(0.8, 4.0),
        "half_volt": Band(0.75 * (1 - tolerance), 1.25 * (1 + tolerance)),
        "coil": Band(beside * (1 - tolerance), 1.0 + tolerance, COIL_SOFT),
        "pull_in": Band(0.25, 0.78),
        "drop_out": Band(0.10, 0.50),
        "gap": Band(0.18, 0.75),
        "clamp": AnySign((CLAMP_OF[suppression],)) if suppression else ANY,
        "hot": Band(0.98, 1.6),
        "after_load": Band(0.5e-3, 14e-3),
        "after_hot": Band(0.98, 1.04, 0.015),
        "after_hot_nc": Band(0.98, 1.04, 0.015),
        "start": Band(0.8e-3, 6.5e-3),
        "operate": Band(2.4e-3, 9e-3),
        "release": Band(0.8e-3, 15e-3),
        "moves": Band(1e-3, 20e-3),
        "bounce_no": Band(0.1e-3, 2.6e-3),
        "bounce_nc": Band(0.3e-3, 4.6e-3),
        "drop_no": Band(1e-3, 10.5e-3),
        "drop_nc": Band(1e-3, 10.5e-3),
        "scatter_no": Band(1e-8, 1.5e-3),
        "scatter_nc": Band(1e-8, 1.5e-3),
        "dry_no": Band(0.8e-3, 14e-3),
        "dry_nc": Band(0.8e-3, 14e-3),
        "after_no": Band(0.8e-3, 14e-3),
        "after_nc": Band(0.8e-3, 14e-3),
        "climb": Band(0.985, 1.02, 0.004),
        "overdriven": Band(0.95, 1.05, 0.015),
        "released": AT_REST,
        "reversal": UNCHANGED,
        "leak_open": INSULATED,
        "leak_coil": INSULATED,
        "trip": Band(0.8, 1.3),
    }


def promised(usual: Mapping[str, Expected], rating: Rating, coil: float) -> dict[str, Expected]:
    """The same, no wider than the maker's sheet has pull-in and drop-out; no maker promises anything of a class.

    `coil`: the part's own ohms over the rated. A sheet that gives one end alone says nothing of the other, where a weak
    spring or hardened iron shows.
    """
    held = dict(usual)
    ends = {
        "pull_in": (rating.pull_in_least, rating.pull_in_most),
        "drop_out": (rating.drop_out_least, rating.drop_out_most),
    }
    for key, (least, most) in ends.items() if not rating.any_maker else ():
        band, one = usual[key], rating.nominal * coil
        if isinstance(band, Band):
            low, high = max(band.low, (least or 0.0) / one), min(band.high, most / one if most else band.high)
            held[key] = replace(band, low=low, high=high) if low < high else band
    return held


BY_DESIGN = ("half_volt", "coil", "pull_in", "drop_out", "gap", "start", "operate", "release", "bounce_no", "bounce_nc")
"""Clues that differ from design to design by 20 to 50 %, and between parts of one by 4 to 15 %."""
WIDER = 0.5
"""A design that nobody has measured lies within a band that is wider at both ends by this share of it (assumed)."""


def of_any_design(usual: Mapping[str, Expected]) -> dict[str, Expected]:
    """What a sound part shows whose design is none of the usual ones."""
    wide = dict(usual)
    for key in BY_DESIGN:
        if isinstance(band := usual[key], Band):
            factor = (band.high / band.low) ** WIDER
            wide[key] = replace(band, low=band.low / factor, high=band.high * factor)
    return wide
