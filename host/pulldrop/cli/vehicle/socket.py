"""`pulldrop socket`: which leg behind a relay's socket is dead: feed, ground, trigger or load, by the vehicle lead."""

from typing import Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, SeedOption
from pulldrop.cli.vehicle.watch import LogOption, VehicleOption

JOB = "Socket check"


def socket(
    board: BoardOption = "auto",
    answer: Annotated[
        list[str] | None,
        typer.Option("--answer", metavar="NAME=WORD", help="An answer ahead, such as system_v=24 or earth=minus."),
    ] = None,
    lit: Annotated[
        list[str] | None,
        typer.Option(
            "--lit", metavar="NAME", help="A circuit to turn on for a second look at the ground, such as brake lamps."
        ),
    ] = None,
    vehicle: VehicleOption = None,
    seed: SeedOption = 1,
    log: LogOption = None,
) -> int:
    """Find the dead leg behind a relay's socket with a bare Nano's vehicle lead: questions, cautions, then leg by leg.

    Exit codes: 0 all legs alive, 1 one is dead or weak, 2 usage or input error, 3 refused or unsure, 4 bench trouble.
    Simulated: --board virtual-bare --vehicle heritage-bus-12
    """
    from datetime import date

    from pulldrop.cli.ask.at_vehicle import AtVehicle, tell
    from pulldrop.cli.input_error import InputError
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show import socket as shown
    from pulldrop.jobs.run.boards import SIMULATED
    from pulldrop.jobs.vehicle import boards, cautioned, refusals
    from pulldrop.jobs.vehicle.log import Log
    from pulldrop.jobs.vehicle.socket import SocketCheck
    from pulldrop.measure.lead import LeadRig
    from pulldrop.model.vehicle.lead import Glow, LeadPlace
    from pulldrop.model.wording.cautions import ON_A_VEHICLE

    out = screen.console()
    person, simulated = AtVehicle(out, JOB), board in SIMULATED
    car = boards.vehicle(vehicle) if vehicle else None
    boards.admit(board, car)
    if simulated:
        screen.simulated(out, board)
    given = dict(one.split("=", 1) for one in answer or () if "=" in one)
    names = {name: choices for name, _, choices in refusals.QUESTIONS}
    for name, word in given.items():
        if name not in names or word not in names[name]:
            raise InputError(f"--answer {name}={word} is none: {name} is one of {', '.join(names.get(name, names))}.")
    for name, question, choices in refusals.QUESTIONS:
        if name in given:
            continue
        usual = str(car.system_v) if car and name == "system_v" else choices[0]
        given[name] = usual if simulated else person.choose(question, choices)
        if why := refusals.refused(refusals.answered({"system_v": "12", **given})):
            break
    answers = refusals.answered(given if "system_v" in given else {"system_v": "12", **given})
    if why := refusals.refused(answers):
        out.print(why, style="bold")
        return exits.OPEN_END
    if first := refusals.hint(answers):
        out.print(first, style="bold")
    if simulated or not cautioned.confirmed(ON_A_VEHICLE, date.today()):
        screen.cautions(out, ON_A_VEHICLE, simulated)
        if not simulated:
            if not person.confirm("Is all of that so?"):
                return exits.OPEN_END
            cautioned.confirm(ON_A_VEHICLE, date.today())
    with boards.open_lead(board, car, seed) as opened, Log(log, "socket", opened.board.identity, vehicle or "") as kept:
        if opened.bench:
            do = boards.simulated_hand(opened.bench)

            def hand(place: LeadPlace) -> Glow | None:
                tell(out, place, JOB)
                return do(place)
        else:
            hand = person
        found = SocketCheck(
            LeadRig(opened.board), hand, answers, kept, lambda text: out.print(text, style="bold"), tuple(lit or ())
        ).run()
        shown.show(out, opened.board.identity, found)
        out.print(f"Kept in {kept.path}.", soft_wrap=True)
    states = {one.state for one in found.legs}
    return 1 if "broken" in states else exits.OPEN_END if states & {"unsure", "not looked at"} else 0
