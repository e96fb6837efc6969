"""The part energised once at its nominal voltage, to settle what no rest can show: which throw opens and which closes.

Rule: only a part that nothing speaks against, and only when somebody asked for it.
"""

from pulldrop.measure.rig.rig import BOTH, Rig
from pulldrop.model.part.identification import Nature, Statement, Sure
from pulldrop.model.part.relay import Form
from pulldrop.model.raw import Contact

HOLD_S, REST_S = 0.1, 0.06
"""On until the contacts are looked at, and off until they are left to what comes next."""


def may_operate(nature: Nature) -> bool:
    """Whether nothing speaks against it, and it is known at which voltage."""
    told = nature.said("class")
    return not nature.refuse and nature.winding == "whole" and told is not None and told.sure == "sure"


def operate_once(rig: Rig, nature: Nature) -> Nature:
    """The same with its form settled as far as one operation shows it. Everything is off afterwards."""
    if nature.volts is None or nature.coil is None:
        return nature
    rig.hold(rig.drive(nature.volts, limit=rig.limit_for(2 * nature.volts / nature.coil.ohm)), HOLD_S)
    operated = rig.contacts()
    rig.off()
    rig.wait(REST_S)
    return settled(nature, operated)


def settled(nature: Nature, operated: Contact) -> Nature:
    """What the throws that were closed while it was energised say of the form."""
    at_rest, why = nature.forms[:1], f"energised once at {nature.volts:g} V"

    def form(forms: tuple[Form, ...], terminals: tuple[int, ...], text: str, sure: Sure) -> Nature:
        said = Statement(about="form", text=text, sure=sure, why=why)
        blades = Statement(about="terminals", text=" or ".join(map(str, terminals)), sure=sure, why=why)
        mine = {"form": said, "terminals": blades}
        return nature.model_copy(
            update={
                "forms": forms,
                "terminals": terminals,
                "statements": tuple(mine.get(one.about, one) for one in nature.statements),
                "cannot_know": tuple(one for one in nature.cannot_know if "count the blades" not in one),
            }
        )

    match at_rest, operated:
        case ("C",), Contact.NO:
            return form(("C",), (5,), "changeover (Form C): 87a opens and 87 closes", "sure")
        case ("C",), Contact.NONE:
            text = "normally closed (Form B): 87a opens and nothing closes; or a changeover part whose 87 is dead"
            return form(("B", "C"), (4, 5), text, "likely")
        case ("A",), Contact.NO if nature.forms == ("A", "C"):
            text = "normally open (Form A): 87 closes; or a changeover part whose 87a is dead"
            return form(("A", "C"), (4, 5), text, "likely")
        case ("A",), both if both == BOTH:
            return form(("twin",), (5,), "two blades 87, each on a contact of its own", "sure")
        case ("twin",), both if both == BOTH:
            return form(("twin",), (5,), "two blades 87, joined inside (Form A); both close", "sure")
    return nature.model_copy(
        update={"cannot_know": (*nature.cannot_know, f"its form: {why}, no throw changed as it should")}
    )
