"""The part energised once at its nominal voltage, to settle what no rest can show: which throw opens and which closes.

Rule: only a part that nothing speaks against, and only when somebody asked for it.
"""

from collections.abc import Sequence

from pulldrop.measure.identify.told import blades_of
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.part.identification import CannotKnow, Identification, Statement, Sure
from pulldrop.model.part.relay import COMMONEST_FIRST, FORMS, NO, TWIN, RelayForm, form_of
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
    why, joined = f"energised once at {identified.volts:g} V", identified.all_have(TWIN)
    found = _form_of(identified, operated)
    if found is None:
        lack = CannotKnow(about="form", text=f"its form: {why}, no throw changed as it should")
        return identified.model_copy(update={"cannot_know": (*identified.cannot_know, lack)})
    forms = [found, *(one for one in map(FORMS.__getitem__, identified.forms) if set(one.pairs) > set(found.pairs))]
    sure: Sure = "likely" if forms[1:] else "sure"
    mine = {
        "form": Statement(about="form", text=_said(forms, joined), sure=sure, why=why),
        "terminals": Statement(
            about="terminals", text=" or ".join(map(str, blades_of(one.form for one in forms))), sure=sure, why=why
        ),
    }
    return identified.model_copy(
        update={
            "forms": tuple(one.form for one in forms),
            "terminals": blades_of(one.form for one in forms),
            "statements": tuple(mine.get(one.about, one) for one in identified.statements),
            "cannot_know": tuple(one for one in identified.cannot_know if one.about != "form"),
        }
    )


def _form_of(identified: Identification, operated: Contact) -> RelayForm | None:
    """The form whose throws are closed so at rest and operated; None where a throw did not change as it should."""
    if not identified.forms:
        return None
    rest = FORMS[identified.forms[0]].seen("rest")
    found = next((one for one in COMMONEST_FIRST if (one.seen("rest"), one.seen("operated")) == (rest, operated)), None)
    half = found is not None and TWIN not in found.pairs and identified.all_have(TWIN)
    was_closed = found == form_of(NO) and not identified.all_have(NO)
    return None if half or was_closed else found


def _said(forms: Sequence[RelayForm], joined: bool) -> str:
    """The form that was seen; then what else looks so with one of its pairs dead."""
    seen = forms[0]
    if TWIN in seen.pairs:
        how = f"joined inside ({seen.called}); both close" if joined else "each on a contact of its own"
        return f"two blades 87, {how}"
    opens = [f"{pair.b} opens" for pair in seen.at("rest").closed]
    closes = [f"{pair.b} closes" for pair in seen.at("operated").closed] or ["nothing closes"]
    told = f"{seen.title} ({seen.called}): {' and '.join([*opens, *closes])}"
    for other in forms[1:]:
        (dead,) = set(other.pairs) - set(seen.pairs)
        told += f"; or a {other.title} part whose {dead.b} is dead"
    return told
