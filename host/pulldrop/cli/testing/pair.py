"""`pulldrop pair`: a fuse or a filament lamp at 30 and 87, cold and under load."""

from typing import Annotated

import typer

from pulldrop.cli.ask.options import (
    BoardOption,
    DonorOption,
    ExplainOption,
    JsonOption,
    LabelOption,
    OperatorOption,
    PartOption,
    ReportOption,
    SeedOption,
    StoreOption,
    VerboseOption,
    beginning,
    store_of,
)
from pulldrop.cli.input_error import InputError


def _ratings() -> tuple[str, ...]:
    from pulldrop.model.part.kinds import PARTS
    from pulldrop.protocol.shipped import library

    return library.rating_names(*(kind for kind, part in PARTS.items() if part.command == "pair"))


def pair(
    rating: Annotated[
        str | None,
        typer.Option(
            "--rating",
            metavar="NAME|FILE",
            help="What is printed on it, such as fuse-regular-10a or lamp-bus-24v-21w.",
            autocompletion=beginning(_ratings),
        ),
    ] = None,
    board: BoardOption = "auto",
    specimen: Annotated[
        str | None, typer.Option("--specimen", metavar="FILE|STOCK", help="The part on a simulated board.")
    ] = None,
    part: PartOption = "",
    label: LabelOption = "",
    donor: DonorOption = "",
    operator: OperatorOption = "",
    protocol: Annotated[
        str | None, typer.Option("--protocol", metavar="NAME|FILE", help="Another protocol for such parts.")
    ] = None,
    seed: SeedOption = 1,
    store: StoreOption = None,
    report: ReportOption = None,
    explain: ExplainOption = None,
    every: VerboseOption = False,
    as_json: JsonOption = False,
) -> int:
    """Test a fuse or a filament lamp that lies between 30 and 87, against what is printed on it.

    A bare board says whether it conducts. Exit codes: as of 'pulldrop test'.
    """
    from pulldrop.cli.ask import files
    from pulldrop.cli.show import exits
    from pulldrop.cli.testing.test import Shown, refuse_another, task_of, tell, unattended
    from pulldrop.jobs.parts import keep as parts
    from pulldrop.jobs.run import choose, specimens
    from pulldrop.jobs.run.boards import SIMULATED, open_socket
    from pulldrop.store import Store

    files.check_writable(report)
    if specimen and board not in SIMULATED:
        raise InputError(f"--specimen names a virtual part, but --board {board} looks at a real one.")
    with Store.open(store_of(board, store)) as history:
        named = rating or (parts.last_rating(history, part) if part else "")
        if not named:
            raise InputError(
                f"What is printed on it? Name its rating with --rating: {', '.join(_ratings())}; or a file of your own."
            )
        plan = choose.plan_rated(protocol, named)
        refuse_another("pair", plan, named)
        thing = specimens.find(specimen, plan.rating.kind) if specimen else None
        if board in SIMULATED and thing is None:
            thing = specimens.made(plan.rating)
        with open_socket(board, thing, seed) as opened:
            about = plan.rating.part(parts.for_run(history, part)).model_copy(update={"label": label, "donor": donor})
            record = unattended(task_of(plan, about, operator, thing, seed), opened, history, as_json)
    tell(record, Shown(every, not part, store_of(board, store), ()), explain, report, as_json)
    return exits.CODES[record.verdict.overall]
