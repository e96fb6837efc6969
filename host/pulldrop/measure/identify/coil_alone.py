"""What a part is, where a build looks at the coil alone: its ohms at a few mA, and which throws are closed at rest.

Rule: what such a build cannot look at is said.
"""

from collections.abc import Sequence

from pulldrop.measure.identify.survey import Survey, SurveyedPair
from pulldrop.measure.identify.told import identified_of
from pulldrop.measure.identify.winding import WindingSeen
from pulldrop.measure.rig.coil.look import OPEN_A, CoilLook
from pulldrop.measure.rig.coil.look import look as look_at_coil
from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.part.identification import CannotKnow, Identification, Statement, SuppressionSeen
from pulldrop.model.part.rating import Rating
from pulldrop.model.raw import Contact

REST_S = 0.05
THROWS = {Contact.NO: "87", Contact.NC: "87a"}
NOT_SEEN = CannotKnow(
    about="layout",
    text="what else conducts, a leak or a coil on other blades: this build looks at 86 to 85, and at 87 and 87a to 30"
    " by their state alone; count the blades and read the print",
)


def look(rig: Rig, classes: Sequence[Rating]) -> Identification:
    """What lies in the socket, without a proposal. Everything is off afterwards. Raises BoardError."""
    began = rig.board.elapsed()
    rig.off()
    celsius = rig.read_temperature()
    closed = rig.seen_at_rest(REST_S)
    rig.off()
    coil = look_at_coil(rig)
    identified = identified_of(WindingSeen(_survey(coil, closed), None, celsius), classes)
    if coil.clamp and identified.winding != "shorted":
        identified = _clamped(identified, coil)
    told = {"cannot_know": (*identified.cannot_know, NOT_SEEN), "bench_s": rig.board.elapsed() - began}
    return identified.model_copy(update=told)


def _survey(coil: CoilLook, closed: Contact) -> Survey:
    """The pairs of this build; of a closed throw its state is known, and no ohms."""
    ohm = coil.volts / coil.amps if coil.a > OPEN_A else None
    value, u = (None, 0.0) if ohm is None else (nominal_value(ohm), float(ohm.std_dev))
    pairs = {("86", "85"): SurveyedPair("86", "85", value, 2 * u, coil.v, coil.a)}
    for throw, blade in THROWS.items():
        pairs[blade, "30"] = SurveyedPair(blade, "30", 0.0 if closed & throw else None, 0.0, 0.0, 0.0)
    return Survey(False, pairs)


def _clamped(identified: Identification, coil: CoilLook) -> Identification:
    """A coil across which something conducts has no class."""
    text = f"{coil.v:.2f} V at {1e3 * coil.a:.0f} mA: {coil.clamp}"
    mine = {
        "coil": Statement(about="coil", text=text, sure="likely"),
        "suppression": Statement(about="suppression", text=coil.clamp, sure="likely", why="by its volts at a few mA"),
    }
    kept = tuple(mine.get(one.about, one) for one in identified.statements if one.about != "class")
    diode = SuppressionSeen(kind="diode", reversed=True)
    refuse = f"the coil holds {text}"
    lacks = tuple(one for one in identified.cannot_know if one.about == "form")
    update = {"statements": kept, "cannot_know": lacks, "suppression": diode, "refuse": refuse}
    return identified.model_copy(update={**update, "volts": None, "classes": ()})
