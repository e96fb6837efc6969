"""What is wrong with each part in stock, by the ids of the diagnosis, and the plan that shows it; for both boards."""

from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.coil.soak import SoakStep
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

NAMED = {
    "bouncing": "bouncing",
    "burnt-nc": "burnt_nc",
    "burnt-no": "burnt_no",
    "carbon-track": "leak_contact",
    "corroded-87": "terminal_no",
    "corroded-87a": "terminal_nc",
    "corroded-blade": "corroded_blade",
    "corroded-winding": "coil_high",
    "dead-nc": "dead_nc",
    "filmed-nc": "film_nc",
    "filmed-no": "dead_no",
    "freed-by-reversal": "held_magnetised",
    "insulates-after-rest": "insulates_after_rest_no",
    "insulates-after-rest-nc": "insulates_after_rest_nc",
    "long-unused": "film_no",
    "lost-diode": "suppression_missing",
    "magnetised": "residual_magnetism",
    "open-behind-resistor": "coil_open_behind_resistor",
    "open-coil": "coil_open",
    "normally-closed-burnt": "burnt_nc",
    "normally-closed-welded": "welded_nc",
    "opens-hot": "opens_hot",
    "reversed-diode": "diode_reversed",
    "shorted-coil": "coil_shorted",
    "shorted-turns": "shorted_turns",
    "sluggish": "sluggish",
    "stays-operated": "held_operated",
    "sticks-after-rest": "sticks_after_rest",
    "stuck-at-rest": "stuck_at_rest",
    "stuck-operated": "stuck_operated",
    "tacking": "tacking",
    "tacking-hot": "tacking_hot",
    "tacking-hot-nc": "tacking_hot_nc",
    "thin-blades": "under_rated",
    "weak-spring": "weak_spring",
    "welded-nc": "welded_nc",
    "welded-no": "welded_no",
    "wet-inside": "leak_coil",
    "wrong-coil-voltage": "wrong_voltage",
}
"""Every other part in stock is sound."""
ON_BOTH_BOARDS = (
    "good-12v-changeover",
    "bouncing",
    "burnt-no",
    "carbon-track",
    "insulates-after-rest",
    "freed-by-reversal",
    "lost-diode",
    "normally-closed-burnt",
    "open-behind-resistor",
    "open-coil",
    "opens-hot",
    "reversed-diode",
    "shorted-coil",
    "sluggish",
    "stays-operated",
    "sticks-after-rest",
    "stuck-operated",
    "tacking-hot",
    "weak-spring",
    "wet-inside",
)
"""A sample that changes every figure that any part in stock changes, diagnosed on the virtual and emulated board."""
TAKE_A_REFERENCE = {fault.id for fault in FAULTS if fault.called}
SHEET = {"any_maker": None, "coil_resistance": 85.0, "coil_tolerance": 10.0}
"""What an invented maker's sheet says of the coils in stock."""
TAKEN_FOR_ANOTHER = ("normally_closed", "normally_open")
"""What a sound part is named when it is tested as one of another form."""
WITHOUT_PROTOCOL = ("exchanged-layout",)
"""Sound parts for which no protocol is made: the look before a test refuses them."""
SOAK_S = 20.0
"""Instead of five minutes: the cracked joint in stock opens 6 K above its bench."""


def plan_for(name: str, specimen: Specimen) -> Plan:
    """The protocol that finds out what is wrong with a part in stock; with a sheet that says what it has lost."""
    form = "twin-87" if specimen.form == "twin" else f"form-{specimen.form.lower()}"
    rating = f"class-mini-{specimen.nominal_v:g}v-{form}"
    if name == "opens-hot":
        at = plan("relay-soak", rating)
        kept = [one for one in at.steps if isinstance(one, CoilStep | SoakStep)]
        short = [s.model_copy(update={"time": SOAK_S}) if isinstance(s, SoakStep) else s for s in kept]
        return at.model_copy(update={"steps": tuple(short)})
    at = plan("relay-reversed" if name == "freed-by-reversal" else "relay-diagnose", rating)
    if name == "lost-diode":
        return at.model_copy(update={"rating": at.rating.model_copy(update={"suppression": "diode"})})
    if NAMED.get(name) in TAKE_A_REFERENCE:
        return at.model_copy(update={"rating": at.rating.model_copy(update=SHEET)})
    return at
