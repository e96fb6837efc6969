"""What is wrong with each part in stock, by the ids of the diagnosis, and the plan that shows it; for both boards."""

from pulldrop.model.part.relay import FORMS
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps import yields
from pulldrop.model.steps.coil import CoilStep
from pulldrop.model.steps.soak import SoakStep
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol import library
from pulldrop.protocol.load import plan
from pulldrop.protocol.ratings import load_rating

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
TAKEN_FOR_ANOTHER = "normally_closed"
"""What a sound part is named when it is tested as one of another form."""
OF_OTHER_SORTS = ("exchanged-layout", "twin-87")
"""Sound parts for which no protocol is made: the look before a test refuses them."""
SOAK_S = 20.0
"""Instead of five minutes: the cracked joint in stock opens 6 K above its bench."""


def plan_for(name: str, specimen: Specimen) -> Plan:
    """The protocol that finds out what is wrong with a part in stock; with a sheet that says what it has lost."""
    kind = f"relay-{5 if specimen.form == 'C' else 4}t-{specimen.nominal_v:g}v"
    if name == "opens-hot":
        at = plan(f"{kind}-soak")
        kept = [one for one in at.steps if isinstance(one, CoilStep | SoakStep)]
        short = [s.model_copy(update={"time": SOAK_S}) if isinstance(s, SoakStep) else s for s in kept]
        return at.model_copy(update={"steps": tuple(short)})
    if specimen.form == "B":
        return of_form_b(plan(f"relay-5t-{specimen.nominal_v:g}v-diagnose"))
    at = plan(f"{kind}-{'reversed' if name == 'freed-by-reversal' else 'diagnose'}")
    if name == "lost-diode":
        return at.model_copy(update={"rating": at.rating.model_copy(update={"suppression": "diode"})})
    return at


def of_form_b(at: Plan) -> Plan:
    """A plan for changeover parts, for normally closed ones."""
    form, rating = FORMS["B"], load_rating(library.find_rating(f"class-mini-{at.rating.nominal:g}v-form-b"))
    given = {id for step in at.steps for id in yields(step.measure, "B")}
    limits = {id: limit for id, limit in at.limits.items() if id in given}
    for id, state in (("contact_rest", form.at("rest")), ("contact_operated", form.at("operated"))):
        if id in limits:
            limits[id] = limits[id].model_copy(update={"state": state, "text": str(state)})
    steps = tuple(step for step in at.steps if yields(step.measure, "B"))
    wanted = tuple(id for id in at.wanted if id in given)
    return at.model_copy(
        update={"form": "B", "rating": rating, "steps": steps, "wanted": wanted, "limits": limits, "unlimited": {}}
    )
