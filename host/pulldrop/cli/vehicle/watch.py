"""`pulldrop watch`: up to three wires live, a word for each, heard at every change; and wiggled, place by place."""

from pathlib import Path
from typing import Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, SeedOption
from pulldrop.cli.input_error import InputError

VehicleOption = Annotated[
    str | None,
    typer.Option("--vehicle", metavar="NAME", help="The vehicle of a simulated board; see pulldrop watch --help."),
]
LogOption = Annotated[
    Path | None, typer.Option("--log", metavar="FILE", help="Where the log goes; else a new file in the data folder.")
]
SIMULATED_S, EVERY_S = 12.0, 2.0


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
    seconds: Annotated[float | None, typer.Option("--seconds", min=0.1, max=86400, help="End after so long.")] = None,
    vehicle: VehicleOption = None,
    seed: SeedOption = 1,
    log: LogOption = None,
) -> int:
    """Watch wires by a bare Nano's vehicle lead: ON, LOW, WEAK or OFF by the battery of that moment, and PULSED.

    Each change rings; every line is kept as it comes. Exit codes: 0 ended, 2 usage or input error, 3 the lead is not
    as it has to be, 4 bench trouble. Simulated: --board virtual-bare --vehicle heritage-bus-12
    """
    import time

    from pulldrop.cli.ask.at_vehicle import AtVehicle
    from pulldrop.cli.ask.keys import pressed
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.live.watch import WatchScreen
    from pulldrop.jobs.vehicle import boards, level
    from pulldrop.jobs.vehicle import watch as job
    from pulldrop.jobs.vehicle.log import Log
    from pulldrop.measure.lead import LeadRig
    from pulldrop.model.vehicle.lead import CLIPS, LeadPlace

    out = screen.console()
    names = tuple(line or ("30", "86", "85"))
    if len(names) > len(CLIPS):
        raise InputError(f"{len(names)} lines, and the lead has three clips beside the battery's. Name three at most.")
    if place and not wiggle:
        raise InputError("--place names what is moved while you listen for losses; say --wiggle too.")
    places, at, ended = tuple(place or ("place 1", "place 2", "place 3")), [0], [False]
    car = boards.vehicle(vehicle) if vehicle else None
    with boards.open_lead(board, car, seed) as opened:
        rig, bench = LeadRig(opened.board), opened.bench
        ask = AtVehicle(out)
        hand = boards.simulated_hand(bench) if bench else ask
        level.level(rig, hand, lambda text: out.print(text, style="bold"))
        spots = dict(zip(CLIPS, ("30", "86", "85"), strict=True))
        clips = dict(zip(CLIPS, names, strict=False))
        told = ", ".join(f"{clip} on {name}" for clip, name in clips.items())
        hand(LeadPlace(says=f"X1 on the battery's plus; {told}.", clips={"X1": "plus", **{c: spots[c] for c in clips}}))
        if bench:
            boards.stage(bench, EVERY_S, 5)
            seconds = SIMULATED_S if seconds is None else seconds
        moved = (lambda: places[at[0] % len(places)]) if wiggle else None
        with (
            Log(log, "watch", opened.board.identity, vehicle or "") as kept,
            WatchScreen(out, opened.board.identity, moved) as shown,
        ):
            run = job.Watch(
                rig, clips, kept, shown, moved, until_s=seconds, over=lambda: ended[0],
                sleep=None if bench else time.sleep,
            )  # fmt: skip

            def take(key: str) -> None:
                if key in ("q", "\x1b"):
                    ended[0] = True
                elif key == " ":
                    at[0] += 1
                    run.mark()

            with pressed(take):
                seen = run.run()
            path = kept.path
    for clip, one in seen.lines.items():
        losses = seen.wiggles[clip].losses if wiggle else []
        filed = f", {len(losses)} losses" if wiggle else ""
        out.print(f"{clips[clip]}: {one.word or 'OFF'}{filed}")
    out.print(f"Kept in {path}. Checked under the vehicle's own load only.", soft_wrap=True)
    return 0
