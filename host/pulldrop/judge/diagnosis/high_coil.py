"""What a coil of too many ohms keeps a sound part from at nominal volts, and so is no sign of any other fault."""

from collections.abc import Mapping
from dataclasses import replace

from pulldrop.judge.diagnosis.bands import Expected, Like, outside
from pulldrop.judge.diagnosis.evidence.clue import Clue, Motion
from pulldrop.judge.diagnosis.evidence.makes import MAY_WAIT
from pulldrop.judge.diagnosis.sound import AT_REST, OPERATED
from pulldrop.model.run.plan import Plan

WINDING_MOST = 5.2
"""Ohms of a winding over the rated at most, those of one for twice the nominal; beyond stand resistors."""
WIDER = 1.5
"""By which the spread of siblings' pull-in grows here: as it is, one part in twenty would seem held by other means."""
FOLLOWS = (
    "operated", "motion", "pull_in", "drop_out", "operate", "release", "bounce_no", "bounce_nc", "after_load",
    "after_hot", "after_hot_nc", "drop_no", "scatter_no", "dry_no", "after_no", "climb", "overdriven",
)  # fmt: skip
"""Clues that a part gives only if it operates."""


def without_moot(
    plan: Plan, found: Mapping[str, Clue], usual: Mapping[str, Expected], pull_in: Expected
) -> dict[str, Clue]:
    """The clues without those that say nothing because nominal volts do not operate a coil of such ohms.

    `usual`: of a sound part; `pull_in`: of one at its usual ohms, as a share of nominal. What the walk read, or how far
    it went, must agree with it once the ohms are taken off: else something else keeps the armature at rest.
    """
    coil, walked, contacts = found.get("coil"), found.get("pull_in"), found.get("operated")
    if not coil or not walked or not coil.value or not walked.value or coil.bound != "=":
        return dict(found)
    expected = usual["coil"]
    rated = expected.centre if plan.relay.any_maker and isinstance(expected, Like) else 1.0
    ohms, in_volts = coil.value / rated, bool(plan.relay.any_maker) or walked.bound != "="
    volts = walked.value if in_volts else walked.value * ohms
    at_usual = replace(walked, value=volts / ohms, u=walked.u / ohms if in_volts else walked.u)
    if isinstance(pull_in, Like):
        pull_in = replace(pull_in, spread=WIDER * pull_in.spread)
    odd = contacts is not None and contacts.state not in (*AT_REST.any_of, *OPERATED.any_of)
    high = ohms > 1 and coil.value < WINDING_MOST and outside(coil, expected)
    if odd or not high or volts <= MAY_WAIT or outside(at_usual, pull_in):
        return dict(found)
    return {key: clue for key, clue in found.items() if key not in FOLLOWS or not _at_rest(clue)}


def _at_rest(clue: Clue) -> bool:
    """Whether it is as of a part that does not operate; an operate time in time waited for so few volts."""
    if clue.key == "operate":
        return True
    return clue.missing or clue.bound == ">" or clue.state in (*AT_REST.any_of, Motion.RESTS)
