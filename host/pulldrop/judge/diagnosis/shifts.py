"""What a fault makes of a part beside sound ones of its own design: its clues, as factors of theirs.

Only faults that another design may explain as well stand here, and a resistor across one of the coils; what a part of
any design shows of a fault stands in the table of faults. Drop-out is in the gap. Source: both plants with a fault that
a mechanic would just call one, and with worse (designs of tuning seeds).
"""

from collections.abc import Mapping

from pulldrop.judge.diagnosis.bands import Band

SHIFTS: Mapping[str, Mapping[str, Band]] = {
    "shorted_turns": {
        "half_volt": Band(0.4, 0.86, 0.05), "coil": Band(0.4, 0.84, 0.05), "pull_in": Band(1.1, 2.6, 0.1),
        "gap": Band(0.9, 1.15, 0.05), "operate": Band(0.95, 1.4, 0.1),
        # current of the shorted turns holds the flux, as a slug does: late and gentle release, and a blurred start
        "start": Band(0.2, 1.4, 0.1), "release": Band(0.8, 4.0, 0.1), "bounce_nc": Band(0.25, 1.3, 0.15),
    },
    "coil_high": {
        "half_volt": Band(1.2, 2.0, 0.1), "coil": Band(1.2, 2.0, 0.1), "pull_in": Band(0.97, 1.03, 0.03),
        "gap": Band(0.9, 1.05, 0.05), "start": Band(0.2, 7.0, 0.1), "operate": Band(1.0, 3.5, 0.1),
        "release": Band(0.5, 1.1, 0.1), "moves": Band(0.7, 12.0, 0.2),
    },
    "weak_spring": {
        # friction takes more of a spring that has less: such a part may scatter, and its drop-out fall further
        "pull_in": Band(0.3, 0.85, 0.1), "gap": Band(0.4, 1.8, 0.1), "start": Band(0.25, 0.9, 0.1),
        "operate": Band(0.4, 0.88, 0.1), "release": Band(1.0, 4.0, 0.1), "bounce_no": Band(0.7, 4.0, 0.2),
        "bounce_nc": Band(0.6, 30.0, 0.2), "moves": Band(0.7, 12.0, 0.2),
    },
    "residual_magnetism": {
        # what is left in the iron helps the coil, and its coercive force costs ampere-turns: one or the other prevails
        "pull_in": Band(0.35, 1.25, 0.1), "gap": Band(0.15, 0.87, 0.05), "start": Band(0.2, 1.0, 0.1),
        "operate": Band(0.55, 1.15, 0.05), "release": Band(0.9, 3.0, 0.1), "bounce_no": Band(0.5, 1.3, 0.15),
        "bounce_nc": Band(0.6, 2.0, 0.2), "moves": Band(0.7, 4.0, 0.2),
    },
    "sluggish": {
        "pull_in": Band(1.02, 1.9, 0.1), "gap": Band(0.15, 0.95, 0.1), "start": Band(1.05, 2.2, 0.1),
        "operate": Band(1.02, 2.2, 0.1), "release": Band(1.0, 2.6, 0.1), "bounce_nc": Band(0.5, 1.2, 0.1),
        "moves": Band(2.5, 100.0, 0.1),
    },
    "bouncing": {
        "bounce_no": Band(1.5, 12.0, 0.2), "bounce_nc": Band(1.5, 12.0, 0.2),
    },
    # no faults; `siblings.py` knows the ohms of the coil, and so what a resistor makes of them
    "resistor_of_its_own": {
        "pull_in": Band(1.05, 1.4, 0.04), "release": Band(1.0, 2.5, 0.1), "bounce_nc": Band(0.4, 1.3, 0.15),
    },
    "resistor_of_siblings": {
        "pull_in": Band(0.72, 0.96, 0.04), "release": Band(0.4, 1.0, 0.1), "bounce_nc": Band(0.75, 2.5, 0.15),
    },
}  # fmt: skip
ALWAYS = {
    "shorted_turns": ("half_volt", "coil"), "coil_high": ("half_volt", "coil", "pull_in"),
    "weak_spring": ("pull_in",), "sluggish": ("pull_in", "moves"), "residual_magnetism": ("gap",),
}  # fmt: skip
"""What each of them changes however mild it is; the rest it may leave as it was."""
