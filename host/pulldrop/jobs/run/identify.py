"""What is in the socket, which protocol and rating suit it, and whether a plan may be run on it.

Rule: nothing is proposed or refused by what is unsure; a person who knows better leaves the look out.
"""

from datetime import UTC, datetime

from pulldrop.board.contract import Board
from pulldrop.jobs.run.calibration import in_force
from pulldrop.jobs.run.test_one import switch_off
from pulldrop.judge.diagnosis.seen import seen
from pulldrop.measure.identify import coil_alone
from pulldrop.measure.identify.look import look
from pulldrop.measure.identify.operate import may_operate, operate_once
from pulldrop.measure.identify.survey import Surveyor
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity
from pulldrop.model.part.identification import Identification, Sure
from pulldrop.model.part.relay import FORMS, NC, NO, TWIN, form_of
from pulldrop.model.raw import Frozen
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.plan import Plan
from pulldrop.protocol.ratings.classes import classes
from pulldrop.protocol.shipped.purposes import protocol_for
from pulldrop.store import Store


class Identified(Frozen):
    """The answer of `identify --json`. `specimen` is the text of the virtual part, empty for a real one."""

    board: Identity
    simulated: bool
    identified: Identification
    specimen: str = ""


class NotEnergised(Exception):
    """The part must not be tested so; the message says why, and what to do. Nothing was energised.

    `why`: the reason alone; `faults`: those that it is refused for, none when it may be sound.
    """

    def __init__(self, message: str, why: str, faults: tuple[NamedFault, ...]) -> None:
        super().__init__(message)
        self.why, self.faults = why, faults


def look_first(board: Board, store: Store, operate: bool = False) -> Identification:
    """What lies in the socket. Raises BoardError.

    `operate`: energise it once, when nothing speaks against it, to settle its contact form.
    """
    calibration, _ = in_force(store, board.identity, datetime.now(UTC), board.notes())
    try:
        Rig(board, calibration).forget_old_trip()
        return identify(board, calibration, operate)
    except BaseException:  # Ctrl-C as well
        switch_off(board)
        raise


def refuse(identified: Identification, plan: Plan | None) -> None:
    """Raises NotEnergised when the part must not be energised, or the plan, if there is one, does not suit it."""
    if why := refusal(identified, plan) if plan else identified.refuse:
        harmful = identified.refuse and not identified.empty
        more = "" if harmful else " Add --no-look to test it anyway."
        told = f"Nothing was tested: {why}.{finding(identified, plan)}{more}"
        raise NotEnergised(told, why, seen(identified, plan))


def finding(identified: Identification, plan: Plan | None = None) -> str:
    """The fault that is seen already, and what to do with the part, as two sentences; empty when none is."""
    return "".join(f" Finding: {fault.title}. {fault.advice}" for fault in seen(identified, plan))


def identify(
    board: Board, calibration: Calibration, operate: bool = False, begun: Surveyor | None = None, fed: bool = True
) -> Identification:
    """What lies in the socket, with rating and protocol proposed; `begun`, `fed`: see `look`. Raises BoardError."""
    rig = Rig(board, calibration)
    alone = rig.able.looks == "coil"
    identified = coil_alone.look(rig, classes()) if alone else look(rig, classes(), begun, fed)
    if operate and rig.able.feeds(identified.volts or 0.0) and may_operate(identified):
        identified = operate_once(rig, identified)
    return propose(identified, rig.bare)


def propose(identified: Identification, bare: bool) -> Identification:
    """Name protocol and rating, where they follow from what was seen."""
    if identified.refuse or identified.volts is None or not identified.forms:
        return identified
    fits = [
        one
        for one in classes()
        if one.rating in identified.classes and (one.form, one.nominal) == (identified.forms[0], identified.volts)
    ]
    told: list[Sure] = [one.sure for one in identified.statements if one.about in ("form", "class")]
    sure: Sure = "unsure" if "unsure" in told else "likely" if "likely" in told else "sure"
    if not fits:
        return identified.model_copy(update={"sure": sure})
    protocol = protocol_for(fits[0].kind, "bare" if bare else "quick")
    return identified.model_copy(update={"protocol": protocol, "rating": fits[0].rating, "sure": sure})


def refusal(identified: Identification, plan: Plan) -> str:
    """Why this plan must not be run on this part, as a sentence; empty when it may."""
    if identified.refuse:
        return identified.refuse
    told = identified.said("class")
    if identified.volts is not None and told and told.sure != "unsure" and identified.volts != plan.relay.nominal:
        ohm = f"{identified.coil.ohm:.0f} ohm" if identified.coil else "its ohms"
        return (
            f"the coil of {ohm} is one of {identified.volts:g} V, and {plan.rating.rating} is for"
            f" {plan.relay.nominal:g} V: it would "
            f"{'burn' if identified.volts < plan.relay.nominal else 'not pull in, and a good part would fail'};"
            f" test it by a rating of {identified.volts:g} V"
        )
    form = FORMS[plan.relay.form]
    is_for = f"{plan.rating.rating} is for parts of {form.called}"
    if TWIN not in form.pairs and identified.all_have(TWIN):
        return (
            f"the part has two blades 87, joined inside, and {is_for}:"
            f" test it by a rating of {form_of(NO, TWIN).called}, which loads both blades"
        )
    if NC not in form.pairs and identified.all_have(NC):
        what = "30 and 87a are closed at rest, so this is a changeover or a normally closed part"
        return f"{what}, and {is_for}: test it as one"
    if NO not in form.pairs and identified.forms and not FORMS[identified.forms[0]].at("rest").closed:
        shown = "nothing is closed" if identified.all_have(NO) else "87a is open"
        return f"{shown} at rest, so this is a normally open part, or its 87a is dead, and {is_for}: count the blades"
    if NO not in form.pairs and len(identified.forms) == 1 and identified.all_have(NO):
        return f"87 closes with the coil on, so this is a changeover part, and {is_for}"
    return ""
