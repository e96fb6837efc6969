"""The part energised once at its nominal voltage, to settle what no rest can show: which throw opens and which closes.

Rule: only a part that nothing speaks against, and only when somebody asked for it.
"""

from pulldrop.measure.rig.rig import BOTH, Rig
from pulldrop.model.part.identification import Identification, Statement, Sure
from pulldrop.model.part.relay import FORMS, Form
from pulldrop.model.raw import Contact

HOLD_S, REST_S = 0.1, 0.06
"""On until the contacts are looked at, and off until they are left to what comes next."""


def may_operate(identified: Identification) -> bool:
    """Whether nothing speaks against it, and it is known at which voltage."""
    told = identified.said("class")
    return not identified.refuse and identified.winding == "whole" and told is not None and told.sure == "sure"


def operate_once(rig: Rig, identified: Identification) -> Identification:
    """The same with its form settled as far as one operation shows it. Everything is off afterwards."""
    if identified.volts is None or identified.coil is None:
        return identified
    rig.hold(rig.drive(identified.volts, limit=rig.limit_for(2 * identified.volts / identified.coil.ohm)), HOLD_S)
    operated = rig.contacts()
    rig.off()
    rig.wait(REST_S)
    return settled(identified, operated)


def settled(identified: Identification, operated: Contact) -> Identification:
    """What the throws that were closed while it was energised say of the form."""
    at_rest, why = identified.forms[:1], f"energised once at {identified.volts:g} V"

    def form(forms: tuple[Form, ...], terminals: tuple[int, ...], text: str, sure: Sure) -> Identification:
        said = Statement(about="form", text=text, sure=sure, why=why)
        blades = Statement(about="terminals", text=" or ".join(map(str, terminals)), sure=sure, why=why)
        mine = {"form": said, "terminals": blades}
        return identified.model_copy(
            update={
                "forms": forms,
                "terminals": terminals,
                "statements": tuple(mine.get(one.about, one) for one in identified.statements),
                "cannot_know": tuple(one for one in identified.cannot_know if "count the blades" not in one),
            }
        )

    match at_rest, operated:
        case ("C",), Contact.NO:
            return form(("C",), (5,), "changeover (Form C): 87a opens and 87 closes", "sure")
        case ("C",), Contact.NONE:
            text = "normally closed (Form B): 87a opens and nothing closes; or a changeover part whose 87 is dead"
            return form(("B", "C"), (4, 5), text, "likely")
        case ("A",), Contact.NO if identified.forms == ("A", "C"):
            text = "normally open (Form A): 87 closes; or a changeover part whose 87a is dead"
            return form(("A", "C"), (4, 5), text, "likely")
        case ("A",), both if both == BOTH:
            return form(("twin",), (5,), "two blades 87, each on a contact of its own", "sure")
        case ("twin",), both if both == BOTH:
            return form(("twin",), (5,), f"two blades 87, joined inside ({FORMS['twin'].called}); both close", "sure")
    return identified.model_copy(
        update={"cannot_know": (*identified.cannot_know, f"its form: {why}, no throw changed as it should")}
    )
