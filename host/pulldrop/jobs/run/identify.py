"""What is in the socket, which protocol and rating suit it, and whether a plan may be run on it.

Rule: nothing is proposed or refused by what is unsure; a person who knows better leaves the look out.
"""

from datetime import UTC, datetime

from pulldrop.board.contract import Board
from pulldrop.jobs.run.calibration import in_force
from pulldrop.jobs.run.choose import TESTED_AS
from pulldrop.jobs.run.test_one import switch_off
from pulldrop.judge.diagnosis.seen import seen
from pulldrop.measure.identify.look import look
from pulldrop.measure.identify.operate import may_operate, operate_once
from pulldrop.measure.identify.survey import Surveyor
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity
from pulldrop.model.part.identification import Nature, Sure
from pulldrop.model.part.relay import FORMS, NC, NO
from pulldrop.model.raw import Frozen
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.purpose import protocol_name
from pulldrop.protocol.classes import classes
from pulldrop.store import Store


class Identified(Frozen):
    """The answer of `identify --json`. `specimen` is the text of the virtual part, empty for a real one."""

    board: Identity
    simulated: bool
    nature: Nature
    specimen: str = ""


class NotEnergised(Exception):
    """The part must not be tested so; the message says why, and what to do. Nothing was energised.

    `why`: the reason alone; `faults`: those that it is refused for, none when it may be sound.
    """

    def __init__(self, message: str, why: str, faults: tuple[NamedFault, ...]) -> None:
        super().__init__(message)
        self.why, self.faults = why, faults


def look_first(board: Board, store: Store, operate: bool = False) -> Nature:
    """What lies in the socket. Raises BoardError.

    `operate`: energise it once, when nothing speaks against it, to settle its contact form.
    """
    calibration, _ = in_force(store, board.identity, datetime.now(UTC), board.notes())
    try:
        return identify(board, calibration, operate)
    except BaseException:  # Ctrl-C as well
        switch_off(board)
        raise


def refuse(nature: Nature, plan: Plan | None) -> None:
    """Raises NotEnergised when the part must not be energised, or the plan, if there is one, does not suit it."""
    if why := refusal(nature, plan) if plan else nature.refuse:
        harmful = nature.refuse and not nature.empty
        more = "" if harmful else " Add --no-look to have it tested all the same."
        told = f"Nothing was tested: {why}.{finding(nature, plan)}{more}"
        raise NotEnergised(told, why, seen(nature, plan))


def finding(nature: Nature, plan: Plan | None = None) -> str:
    """The fault that is seen already, and what to do with the part, as two sentences; empty when none is."""
    return "".join(f" Finding: {fault.title}. {fault.advice}" for fault in seen(nature, plan))


def identify(
    board: Board, calibration: Calibration, operate: bool = False, begun: Surveyor | None = None, fed: bool = True
) -> Nature:
    """What lies in the socket, with rating and protocol proposed; `begun`, `fed`: see `look`. Raises BoardError."""
    rig = Rig(board, calibration)
    nature = look(rig, classes(), begun, fed)
    if operate and not rig.bare and may_operate(nature):
        nature = operate_once(rig, nature)
    return propose(nature, rig.bare)


def propose(nature: Nature, bare: bool) -> Nature:
    """Name protocol and rating, where they follow from what was seen."""
    if nature.refuse or nature.volts is None or not nature.forms:
        return nature
    form = TESTED_AS[nature.forms[0]]
    fits = [
        one for one in classes() if one.rating in nature.classes and (one.form, one.nominal) == (form, nature.volts)
    ]
    told: list[Sure] = [one.sure for one in nature.statements if one.about in ("form", "class")]
    sure: Sure = "unsure" if "unsure" in told else "likely" if "likely" in told else "sure"
    if not fits:
        return nature.model_copy(update={"sure": sure})
    protocol = protocol_name(fits[0].kind, "bare" if bare else "quick")
    return nature.model_copy(update={"protocol": protocol, "rating": fits[0].rating, "sure": sure})


def refusal(nature: Nature, plan: Plan) -> str:
    """Why this plan must not be run on this part, as a sentence; empty when it may."""
    if nature.refuse:
        return nature.refuse
    told = nature.said("class")
    if nature.volts is not None and told and told.sure != "unsure" and nature.volts != plan.rating.nominal:
        ohm = f"{nature.coil.ohm:.0f} ohm" if nature.coil else "its ohms"
        return (
            f"the coil of {ohm} is one of {nature.volts:g} V, and {plan.rating.rating} is for"
            f" {plan.rating.nominal:g} V: it would "
            f"{'burn' if nature.volts < plan.rating.nominal else 'not pull in, and a good part would fail'}"
        )
    form = FORMS[plan.form]
    if NC in form.pairs and nature.forms == ("twin",):
        return (
            f"the part has two blades 87, joined inside, and {plan.rating.rating} is for {form.title} parts; one for"
            " normally open parts suits it, the second blade 87 left alone"
        )
    if NC not in form.pairs and nature.forms[:1] == ("C",) and "B" in nature.forms:
        return (
            f"30 and 87a are closed at rest, so this is a changeover or a normally closed part, and"
            f" {plan.rating.rating} is for {form.title} ones"
        )
    if NO not in form.pairs and nature.forms == ("C",):
        is_for = f"{plan.rating.rating} is for {form.title} ones"
        return f"87 closes with the coil on, so this is a changeover part, and {is_for}"
    return ""
