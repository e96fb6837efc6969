"""`pulldrop hunt`: which control, or which controls together, make a wire live; step by step, and proved."""

from pathlib import Path
from typing import Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, JsonOption, LanOption, PortOption, SeedOption, VerboseOption
from pulldrop.cli.history.page import USUAL_PORT
from pulldrop.cli.input_error import InputError
from pulldrop.cli.vehicle.watch import VehicleOption

PLAY_S = 60.0


def hunt(
    cabin: Annotated[
        str, typer.Argument(metavar="CABIN", help="Wire and controls: a name that ships, or your own YAML file.")
    ],
    board: BoardOption = "auto",
    play: Annotated[
        bool, typer.Option("--play", help="Begin with a minute of free play: operate, and tap what it was.")
    ] = False,
    solenoid_off: Annotated[
        bool,
        typer.Option("--solenoid-off", help="The starter cannot turn: its solenoid's wire is off. START is asked."),
    ] = False,
    last: Annotated[
        Path | None, typer.Option("--last", metavar="LOG", help="The log of the last time, to say what has changed.")
    ] = None,
    log: Annotated[
        Path | None, typer.Option("--log", metavar="FILE", help="Its log; a file that is there goes on where it ended.")
    ] = None,
    page: Annotated[
        bool, typer.Option("--page", help="Serve it as a page too, to press by a phone in the cabin.")
    ] = False,
    lan: LanOption = False,
    port: PortOption = USUAL_PORT,
    vehicle: VehicleOption = None,
    seed: SeedOption = 1,
    verbose: VerboseOption = False,
    as_json: JsonOption = False,
) -> int:
    """Find which control, or which together, make a wire live, by a bare Nano's vehicle lead that watches it.

    One move at a time; each is logged before the next, so that a log goes on another day. Exit codes: 0 proved, 2 usage
    or input error, 3 not proved or left, 4 bench trouble. Simulated: pulldrop hunt touring-coach-7 --board virtual-bare
    """
    import time
    from collections.abc import Callable
    from contextlib import ExitStack, suppress
    from datetime import date

    from pulldrop.cli.ask.at_vehicle import AtVehicle
    from pulldrop.cli.ask.keys import pressed
    from pulldrop.cli.history import page as pages
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.live.hunt import HuntScreen
    from pulldrop.cli.show.testing import hunt as shown
    from pulldrop.jobs.hunt import answer, loop
    from pulldrop.jobs.hunt.hands import KeyHands
    from pulldrop.jobs.hunt.log import HuntLog, new_log
    from pulldrop.jobs.hunt.simulated import SimulatedHands
    from pulldrop.jobs.hunt.wire import HuntedWire, by_lead
    from pulldrop.jobs.run.boards import SIMULATED
    from pulldrop.jobs.vehicle import boards, cautioned, level
    from pulldrop.measure.lead import LeadRig
    from pulldrop.model.hunt.outcome import Grade
    from pulldrop.model.hunt.view import HuntView
    from pulldrop.model.vehicle.lead import LeadPlace
    from pulldrop.model.wording import cautions
    from pulldrop.protocol.cabin import cabin as find

    out = screen.console(stderr=as_json)
    place = find(cabin)
    before = answer.last_time(last, place) if last else None
    simulated = board in SIMULATED
    if play and simulated:
        raise InputError("nobody plays in a simulated cabin. Leave --play out.")
    car = boards.vehicle(vehicle or place.cabin) if simulated else None
    names = {one.name for one in place.controls}
    if odd := next((one.name for one in car.controls if one.name not in names), "") if car else "":
        raise InputError(f"the simulated vehicle has a control '{odd}', and the cabin none of that name. Name another.")
    with boards.open_lead(board, car, seed) as opened:
        head, path = new_log(place, opened.board.identity.simulated, solenoid_off, seed, log)
        ask = AtVehicle(out, f"Hunt, {place.wire}")
        if simulated or not cautioned.confirmed(cautions.BEFORE_A_HUNT, date.today()):
            screen.cautions(out, cautions.BEFORE_A_HUNT, simulated)
        if not simulated and not cautioned.confirmed(cautions.BEFORE_A_HUNT, date.today()):
            if not ask.confirm("Is all of that so?"):
                return exits.OPEN_END
            cautioned.confirm(cautions.BEFORE_A_HUNT, date.today())
        rig, bench = LeadRig(opened.board), opened.bench
        hand = boards.simulated_hand(bench) if bench else ask
        volts = level.level(rig, hand, lambda text: out.print(text, style="bold"))
        if wrong := level.as_said(volts, place.system_v) or level.too_low(volts, place.system_v):
            raise InputError(wrong)
        hand(LeadPlace(says=f"X1 on the battery's plus, X2 on the wire: {place.wire}.", clips={"X1": "plus"}))
        controls, kind = place.listed(), opened.board.identity.kind if simulated else ""
        with ExitStack() as stack:
            kept = stack.enter_context(HuntLog.open(path, head))
            shows: list[Callable[[HuntView], None]] = []

            def show(view: HuntView) -> None:
                for one in shows:
                    one(view)

            hands = KeyHands(opened.board.identity, place.wire, controls, show)
            if page:
                beside = pages.beside(hands.press, out.print, lan=lan, port=port, scan=pages.scannable(out))
                served = stack.enter_context(beside)
                out.print(served.words(), soft_wrap=True)
                shows.append(served.show)
            shows.append(stack.enter_context(HuntScreen(out, kind)))
            stack.enter_context(pressed(hands.key))
            going = kept.hunt()
            wire = HuntedWire(by_lead(rig, hands.lost, None if bench else time.sleep), place.side)
            with suppress(loop.Left):
                if play:
                    hands.plays(PLAY_S)
                    loop.play(going, wire, hands, kept, PLAY_S)
                loop.go(going, wire, SimulatedHands(bench, controls, hands) if bench else hands, kept)
            hands.ends(going.result())
            found = answer.answered(kept.head, opened.board.identity, going.result(), before, kept.path)
    screen.answer(found, as_json, lambda to, one: shown.show(to, one, verbose))
    return 0 if found.outcome.grade is Grade.PROVED else exits.OPEN_END
