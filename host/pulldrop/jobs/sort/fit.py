"""Is the bench fit to sort, and a part fit to be energised? An empty socket, a link, and a look at an odd part.

Rule: every answer is a sentence that says what is wrong and what to do, or nothing.
"""

from datetime import UTC, datetime

from pulldrop.board.contract import Board
from pulldrop.jobs.run.calibration import in_force
from pulldrop.jobs.run.identify import identify, refusal
from pulldrop.jobs.self_test.bench import self_test
from pulldrop.judge.diagnosis.seen import seen as named
from pulldrop.measure.identify.socket import Look
from pulldrop.measure.identify.survey import Surveyor
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.self_test.link import carried, linked
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.part.relay import FORMS
from pulldrop.model.quantity import show
from pulldrop.model.raw import Contact
from pulldrop.model.run.plan import Plan
from pulldrop.store import Store

LINK_MOST_OHM = 3e-3
"""A link between two blades, blades and clips with it: 1.5 mohm at most when all is well; twice that is refused."""
LINK_LEAST_A, SETTLE_S = 5.0, 0.05


def unfit(board: Board) -> str:
    """Why no crate can be sorted on this board."""
    if board.identity.able.coil == "set":
        return ""
    if board.identity.able.coil == "by hand":
        return (
            "On this build a hand turns the coil's volts, and it looks at the coil alone, so that no crate can be"
            " sorted. Sort on a full board. On this one test a part at a time: pulldrop test."
        )
    return (
        "A bare board has no coil supply and loads no contact, so every part of a crate would have to be looked at"
        " again. Sort on a full board. On this one test a part at a time: pulldrop test."
    )


def empty(board: Board) -> str:
    """What the self-test finds wrong."""
    wrong = [
        check
        for check in self_test(board, nominal(board.identity.serial, board.identity.build))
        if check.state == "wrong"
    ]
    return " ".join(f"{one.title}: {one.found}; {one.expected} was expected." for one in wrong)


def link(board: Board, store: Store, seen: Look) -> str:
    """Whether the link closes 30 and 87 and carries the load with next to no drop. `seen`: as it has sat still."""
    calibration, _ = in_force(store, board.identity, datetime.now(UTC), board.notes())
    rig = Rig(board, calibration)
    if {seen.closed, rig.seen_at_rest(SETTLE_S)} != {Contact.NO}:
        return "The link is not seen between 30 and 87: seat it there, then check again."
    if not rig.has_load():
        return "The load supply is not connected: look at its clamps, its fuse and K1."
    amps, drop_v = carried(rig)
    if amps < LINK_LEAST_A:
        return f"The link carries {show(max(amps, 0.0), 'A')} instead of 10 A. Look at the load supply and its fuse."
    ohm = drop_v / amps
    if ohm > LINK_MOST_OHM:
        return (
            f"The link reads {show(ohm, 'ohm')}; at most {show(LINK_MOST_OHM, 'ohm')} was expected. Clean the clips of"
            " the socket and the blades of the link, then check again."
        )
    wrong = (check for check in linked(rig, Contact.NO) if check.state == "wrong")
    return next((f"{one.title}: {one.found}; {one.expected} was expected." for one in wrong), "")


def refused(board: Board, store: Store, plan: Plan, seen: Look, begun: Surveyor) -> tuple[str, ...]:
    """Why a part must not be energised, or cannot be judged as it lies there, if not all its contacts are seen at rest:
    what it is and what to do, or a reason.

    By its pairs alone: the coil step of a test meets every coil at a volt first, and stops at a short or a diode there.
    """
    if plan.form is None:
        return ()  # fuses and lamps get short loads alone
    calibration, _ = in_force(store, board.identity, datetime.now(UTC), board.notes())
    identified = identify(board, calibration, begun=begun, fed=False)
    if identified.layout == "usual" and identified.winding == "shorted":
        return ()  # its test stops at the first volt and names it, so that it is scrap
    if why := "" if identified.empty else refusal(identified, plan):
        return next(((one.title, one.advice) for one in named(identified, plan)), (why,))
    if FORMS[plan.relay.form].at("rest").closed and seen.coil_a and not seen.closed:
        return (
            "30 and 87a are open at rest: a normally open part (Form A), one not pushed home, or a dead contact 87a",
            "Push it home and test it again; without a blade 87a sort it with the normally open parts.",
        )
    return ()
