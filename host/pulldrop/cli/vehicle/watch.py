"""`pulldrop watch`: up to three wires live, a word for each, heard at every change; and wiggled, place by place."""

from pathlib import Path
from typing import Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, LanOption, PortOption, SeedOption
from pulldrop.cli.history.page import USUAL_PORT
from pulldrop.cli.input_error import InputError

VehicleOption = Annotated[
    str | None,
    typer.Option("--vehicle", metavar="NAME", help="The vehicle of a simulated board."),
]
LogOption = Annotated[
    Path | None, typer.Option("--log", metavar="FILE", help="Where the log goes; else a new file in the data folder.")
]

LONGEST_S = 12 * 3600.0


def watch(
    board: BoardOption = "auto",
    line: Annotated[
        list[str] | None,
        typer.Option("--line", metavar="NAME", help="A name for each wire, up to three, for X2, X3, X4 in turn."),
    ] = None,
    wiggle: Annotated[bool, typer.Option("--wiggle", help="Listen for losses while you tap, twist and move.")] = False,
    place: Annotated[
        list[str] | None,
        typer.Option("--place", metavar="NAME", help="With --wiggle: a place to move, in order; Space goes on."),
    ] = None,
    seconds: Annotated[
        float | None, typer.Option("--seconds", min=0.1, max=86400, help="End after so long; else after 12 hours.")
    ] = None,
    vehicle: VehicleOption = None,
    seed: SeedOption = 1,
    log: LogOption = None,
    page: Annotated[bool, typer.Option("--page", help="Serve it as a page too, for the cabin.")] = False,
    lan: LanOption = False,
    port: PortOption = USUAL_PORT,
) -> int:
    """Watch wires by a bare Nano's vehicle lead: ON, LOW, WEAK or OFF by the battery of that moment, and PULSED.

    Each change rings; every line is kept as it comes. Exit codes: 0 ended, 2 usage or input error, 3 the lead is not
    as it has to be, 4 bench trouble. Simulated: --board virtual-bare --vehicle heritage-bus-12
    """
    import time
    from contextlib import ExitStack

    from pulldrop.cli.ask.at_vehicle import AtVehicle
    from pulldrop.cli.ask.keys import pressed
    from pulldrop.cli.history import page as pages
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.live.watch import WatchScreen, quiet, said
    from pulldrop.jobs.vehicle import boards, level
    from pulldrop.jobs.vehicle import watch as job
    from pulldrop.jobs.vehicle.log import Log
    from pulldrop.jobs.vehicle.screens import WatchPages
    from pulldrop.measure.lead import LeadRig
    from pulldrop.model.vehicle.lead import CLIPS

    out = screen.console()
    names = tuple(line or ("30", "86", "85"))
    if len(names) > len(CLIPS):
        raise InputError(f"{len(names)} lines, and the lead has three clips beside the battery's. Name three at most.")
    if place and not wiggle:
        raise InputError("--place names what is moved while you listen for losses; say --wiggle too.")
    places, at, ended = tuple(place or ("place 1", "place 2", "place 3")), [0], [False]
    car = boards.vehicle(vehicle) if vehicle else None
    with ExitStack() as stack:
        opened = stack.enter_context(boards.open_lead(board, car, seed))
        rig, bench = LeadRig(opened.board), opened.bench
        clips = dict(zip(CLIPS, names, strict=False))
        hand = boards.simulated_hand(bench) if bench else AtVehicle(out, f"Watch of {', '.join(names)}")
        level.level(rig, hand, lambda text: out.print(text, style="bold"))
        hand(level.to_watch(clips, bench is not None, wiggle))
        if bench:
            length_s = boards.rehearse(bench, wiggle)
            seconds = length_s if seconds is None else seconds
        seconds = LONGEST_S if seconds is None else seconds
        moved = (lambda: places[at[0] % len(places)]) if wiggle else None
        kept = stack.enter_context(Log(log, "watch", opened.board.identity, vehicle or ""))
        tells: list[job.Tell] = []
        if page:
            served = stack.enter_context(pages.beside(None, out.print, lan=lan, port=port, scan=pages.scannable(out)))
            out.print(served.words(), soft_wrap=True)
            move = (lambda seen: quiet(seen) or f"Move: {moved()}") if moved else (lambda _: "")
            tells.append(stack.enter_context(WatchPages(opened.board.identity, served.show, said, move)))
        tells.append(stack.enter_context(WatchScreen(out, opened.board.identity, moved)))
        run = job.Watch(
            rig, clips, kept, lambda *what: [tell(*what) for tell in tells], moved, until_s=seconds,
            over=lambda: ended[0], sleep=None if bench else time.sleep, pace=time.sleep if bench and page else None,
        )  # fmt: skip

        def take(key: str) -> None:
            if key in ("q", "\x1b"):
                ended[0] = True
            elif key == " ":
                at[0] += 1
                run.mark()

        stack.enter_context(pressed(take))
        seen = run.run()
        path = kept.path
    for clip, one in seen.lines.items():
        losses = seen.wiggles[clip].losses if wiggle else []
        filed = f", {len(losses)} losses" if wiggle else ""
        out.print(f"{clips[clip]}: {one.word or 'OFF'}{filed}")
    out.print(f"Kept in {path}. Checked under the vehicle's own load only.", soft_wrap=True)
    return 0
