"""The faults that each throw can have: of its surface, and of its blade. What a throw shows of each, and what to do."""

from pulldrop.judge.diagnosis.bands import AnySign, Band, Expected
from pulldrop.judge.diagnosis.fault import RARE, USUAL, Fate, PartFault
from pulldrop.judge.diagnosis.sound import ANY, BOTH_OPEN, GONE, MOVES, NO_OPEN, WARMING
from pulldrop.model.part.relay import NC, NO
from pulldrop.model.scale import LIGHT_DUTY

NOT_87A = " Marked 'not 87a' it may go where 87a has no wire, if all else is good."


CLEAN_OR_LIGHT = f"Out of its socket, clean the blade, then test again. While the drop stays: {LIGHT_DUTY}"


def _burnt(throw: str) -> dict[str, Expected]:
    return {
        f"drop_{throw}": Band(12e-3, 1.0),
        f"scatter_{throw}": Band(2e-3, 1.0),
        f"dry_{throw}": Band(7e-3, 1.0),
        f"after_{throw}": Band(7e-3, 1.0),
        f"first_{throw}": Band(0.15, 6.0, 0.2),
        **({"climb": Band(0.8, 1.3)} if throw == "no" else {}),
    }


def _dead(throw: str) -> dict[str, Expected]:
    return {
        f"drop_{throw}": Band(0.2, 1e3),
        f"scatter_{throw}": ANY,
        f"dry_{throw}": Band(1.0, 1e6),
        f"after_{throw}": Band(1.0, 1e6),
        **({"climb": GONE, "after_hot": GONE} if throw == "no" else {"after_hot_nc": GONE}),
    }


def _insulates_once(throw: str) -> dict[str, Expected]:
    """What the first touch or the first load takes away: all that the first make shows, and nothing later."""
    seen: dict[str, Expected] = {"first_motion": MOVES} if throw == "no" else {"rest": AnySign((*NO_OPEN, BOTH_OPEN))}
    return {**seen, f"first_{throw}": Band(3.0, 2e3, or_missing=0.7), f"dry_{throw}": ANY, f"after_{throw}": ANY}


AT_THE_ROOT = (
    "Milliohms from the tip of each blade to its root by four wires, the part out of its socket: more than 1 mohm is"
    " the blade."
)


def corroded(*throws: str) -> dict[str, Expected]:
    """Metal in series: as much dry as loaded, and the same with every make."""
    same = {f"{what}_{throw}": Band(11e-3, 0.2) for what in ("drop", "dry", "after") for throw in throws}
    return {**same, "climb": WARMING} if "no" in throws else dict(same)


def contact_fault(what: str, throw: str) -> PartFault:
    """The faults of one throw: its surface, or its blade."""
    is_nc = throw == "nc"
    blade = "87a" if is_nc else "87"
    share, worn = USUAL, ""
    fate: Fate = "never fit"
    spared = NOT_87A if is_nc else ""
    match what:
        case "burnt":
            does = _burnt(throw)
            title = f"contact {blade} burnt or pitted"
            advice = "Do not fit it: the contact heats under load, another amount with every make."
            worn = LIGHT_DUTY
            further = AT_THE_ROOT
        case "terminal":
            does = corroded(throw)
            blade = "87 (on 4 terminals, or 30)" if throw == "no" else "87a"
            title = f"blade {blade} or its rivet corroded: the same loss with every make"
            stays = "do not fit it while the drop stays" if is_nc else "scrap it when the drop stays"
            advice = f"Out of its socket, clean the blade and test again; {stays}."
            worn = CLEAN_OR_LIGHT
            further = AT_THE_ROOT
            share, fate = RARE, "fit with care"
        case "film":
            does = {f"dry_{throw}": Band(0.1, 1e6), f"first_{throw}": Band(0.4, 20.0, 0.2)}
            title = f"contact {blade} had a film, and the load broke it"
            advice = "Test it again on this bench, under load; fit it only where it always carries load."
            fate = "fit"
            further = "Leave it for a week and measure dry again: a film comes back, a particle does not."
        case "insulates_after_rest":
            does = _insulates_once(throw)
            title = f"contact {blade} insulates after rest: its first make carries nothing, later ones do"
            advice = (
                f"Do not fit it where it rests for long: after its next long rest the first make of {blade} may carry"
                " nothing again."
            )
            fate = "fit with care"
            further = "Leave it for a week and test again: what grows at rest comes back, a splinter does not."
        case _:
            does = _dead(throw)
            title = f"contact {blade} clicks and carries nothing"
            gone = "no load of the bench gets through this contact"
            advice = f"Do not fit it: {gone}." if is_nc else f"Scrap it: {gone}."
            further = "None is worth it: film, a splinter of plastic and a broken rivet look alike from outside."
    return PartFault(
        f"{what}_{throw}",
        title,
        advice,
        does,
        further,
        share,
        (NC if is_nc else NO,),
        needs=f"first_{throw}" if what == "insulates_after_rest" else "",
        advice_worn=worn,
        fate=fate,
        spared=spared,
    )
