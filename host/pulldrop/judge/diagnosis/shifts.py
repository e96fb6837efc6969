"""What a fault makes of a part beside sound ones of its own design: its clues, as factors of theirs.

Only faults that another design may explain as well stand here, and a resistor across one of the coils; what a part of
any design shows of a fault stands in the table of faults. Drop-out is in the gap. Source: both plants with a fault that
a mechanic would just call one, and with worse (designs of tuning seeds).
"""

from collections.abc import Mapping

from pulldrop.judge.diagnosis.bands import Band

SHIFTS: Mapping[str, Mapping[str, Band]] = {
    "shorted_turns": {
        "half_volt": Band(0.4, 0.86, 0.05), "coil": Band(0.4, 0.84, 0.05), "pull_in": Band(0.9, 1.4, 0.1),
        "gap": Band(0.9, 1.15, 0.05), "operate": Band(0.95, 1.4, 0.1),
        # current of the shorted turns holds the flux, as a slug does: late and gentle release, and a blurred start
        "start": Band(0.2, 1.4, 0.1), "release": Band(0.8, 4.0, 0.1), "bounce_nc": Band(0.25, 1.3, 0.15),
    },
    "coil_high": {
        "half_volt": Band(1.2, 2.0, 0.1), "coil": Band(1.2, 2.0, 0.1), "pull_in": Band(1.15, 2.0, 0.1),
        "gap": Band(0.9, 1.05, 0.05), "start": Band(0.2, 2.2, 0.1), "operate": Band(1.0, 2.5, 0.1),
        "release": Band(0.7, 1.1, 0.1), "moves": Band(0.7, 6.0, 0.1),
    },
    "weak_spring": {
        "pull_in": Band(0.3, 0.85, 0.1), "gap": Band(0.8, 1.5, 0.05), "start": Band(0.3, 0.8, 0.1),
        "operate": Band(0.5, 0.85, 0.1), "release": Band(1.1, 4.0, 0.1), "bounce_no": Band(0.7, 4.0, 0.2),
        "bounce_nc": Band(0.8, 30.0, 0.2), "moves": Band(0.7, 6.0, 0.1),
    },
    "residual_magnetism": {
        # what is left in the iron helps the coil, and its coercive force costs ampere-turns: one or the other prevails
        "pull_in": Band(0.65, 1.2, 0.15), "gap": Band(0.2, 0.87, 0.05), "start": Band(0.3, 1.0, 0.1),
        "operate": Band(0.6, 1.15, 0.05), "release": Band(0.9, 3.0, 0.1), "bounce_no": Band(0.5, 1.3, 0.15),
        "bounce_nc": Band(0.6, 2.0, 0.2), "moves": Band(0.7, 6.0, 0.1),
    },
    "sluggish": {
        "pull_in": Band(1.02, 1.5, 0.1), "gap": Band(0.5, 0.93, 0.1), "start": Band(1.1, 1.8, 0.1),
        "operate": Band(1.05, 1.6, 0.1), "release": Band(1.0, 1.6, 0.1), "bounce_nc": Band(0.75, 1.2, 0.1),
        "moves": Band(3.0, 100.0, 0.1),
    },
    "bouncing": {
        "bounce_no": Band(1.5, 8.0, 0.2), "bounce_nc": Band(1.5, 8.0, 0.2),
    },
    # no faults; `siblings.py` knows the ohms of the coil, and so what a resistor makes of them
    "resistor_of_its_own": {
        "pull_in": Band(1.0, 1.19, 0.04), "release": Band(1.0, 2.5, 0.1), "bounce_nc": Band(0.4, 1.3, 0.15),
    },
    "resistor_of_siblings": {
        "pull_in": Band(0.84, 1.0, 0.04), "release": Band(0.4, 1.0, 0.1), "bounce_nc": Band(0.75, 2.5, 0.15),
    },
}  # fmt: skip
ALWAYS = {
    "shorted_turns": ("half_volt", "coil"), "coil_high": ("half_volt", "coil"),
    "weak_spring": ("pull_in",), "sluggish": ("pull_in", "moves"), "residual_magnetism": ("gap",),
}  # fmt: skip
"""What each of them changes however mild it is; the rest it may leave as it was."""
