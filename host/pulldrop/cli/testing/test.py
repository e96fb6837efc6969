"""`pulldrop test`: one part through one protocol."""

import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import (
    PROTOCOLS,
    RATINGS,
    SPECIMENS,
    BesideOption,
    BoardOption,
    DonorOption,
    ExplainOption,
    JsonOption,
    LabelOption,
    LanOption,
    OperatorOption,
    PartOption,
    PortOption,
    ReportOption,
    RestedOption,
    SeedOption,
    SiblingsOption,
    StoreOption,
    VerboseOption,
    rested_s,
    store_of,
    virtual_part,
)
from pulldrop.cli.history.page import USUAL_PORT
from pulldrop.cli.input_error import InputError

if TYPE_CHECKING:
    from pulldrop.board.contract import Board
    from pulldrop.jobs.run.boards import Opened
    from pulldrop.jobs.run.by_look import Looked
    from pulldrop.jobs.run.specimens import VirtualPart
    from pulldrop.jobs.run.test_one import Task
    from pulldrop.model.part.identification import Identification
    from pulldrop.model.part.part import Part
    from pulldrop.model.run.plan import Plan
    from pulldrop.model.run.record import RunRecord
    from pulldrop.plant.specimen import Specimen
    from pulldrop.store import Store


def test(
    protocol: Annotated[
        str | None,
        typer.Option(
            "--protocol",
            metavar="NAME|FILE",
            help="The protocol; see 'pulldrop protocol list'.",
            autocompletion=PROTOCOLS,
        ),
    ] = None,
    rating: Annotated[
        str | None,
        typer.Option(
            "--rating", metavar="NAME|FILE", help="Rated values; else the class that was found.", autocompletion=RATINGS
        ),
    ] = None,
    board: BoardOption = "auto",
    specimen: Annotated[
        str | None,
        typer.Option(
            "--specimen",
            metavar="FILE|STOCK",
            help="The part on a simulated board; see 'pulldrop specimen list'.",
            autocompletion=SPECIMENS,
        ),
    ] = None,
    seed: SeedOption = 1,
    part: PartOption = "",
    label: LabelOption = "",
    donor: DonorOption = "",
    operator: OperatorOption = "",
    beside: BesideOption = None,
    siblings: SiblingsOption = None,
    store: StoreOption = None,
    report: ReportOption = None,
    explain: ExplainOption = None,
    look: Annotated[
        bool,
        typer.Option(
            "--look/--no-look", help="First find out at a few mA what the part is; refuse it if something is wrong."
        ),
    ] = True,
    ask: Annotated[
        bool | None,
        typer.Option("--ask/--no-ask", help="Propose, and go on at Space; as it is on a real board at a terminal."),
    ] = None,
    page: Annotated[
        bool, typer.Option("--page", help="Look, propose, test at a press of a page, one part after the other.")
    ] = False,
    lan: LanOption = False,
    port: PortOption = USUAL_PORT,
    rested: RestedOption = None,
    reveal: Annotated[bool, typer.Option("--reveal", help="Then show what a virtual part truly is.")] = False,
    every: VerboseOption = False,
    as_json: JsonOption = False,
) -> int:
    """Test one part and say whether it is good.

    Exit codes: 0 pass, 1 fail, 2 usage or input error, 3 unsure, do not energise, another kind, incomplete, checked
    without load or interrupted, 4 bench trouble.
    """
    from pulldrop.cli.ask import files
    from pulldrop.cli.show import exits
    from pulldrop.jobs.parts import golden
    from pulldrop.jobs.parts import keep as parts
    from pulldrop.jobs.parts.siblings import reference_of
    from pulldrop.jobs.run.boards import open_socket
    from pulldrop.jobs.run.by_look import Looked
    from pulldrop.jobs.run.by_look import look as look_at
    from pulldrop.store import Store

    files.check_writable(report)
    waited_s = rested_s(rested)
    thing = virtual_part(board, specimen)
    if reveal and thing is None:
        raise InputError("--reveal shows the truth of a virtual part; nobody knows that of a real one. Leave it out.")
    if page:
        _alone(json=as_json, report=report, explain=explain, reveal=reveal, beside=beside, siblings=siblings,
               label=label, donor=donor, no_look=not look)  # fmt: skip
    plan = _plan(protocol, rating, thing, board)
    _check_measurement(explain, plan)
    printed = None if rating else thing
    with Store.open(store_of(board, store)) as history, open_socket(board, thing, seed) as opened:
        id = parts.for_run(history, part)
        if part:
            _warn(parts.mistakable(history, id))
        if page:
            from pulldrop.cli.testing import on_page
            from pulldrop.jobs.single.single import SingleSetup

            setup = SingleSetup(
                plan if rating else None, protocol, id, operator, waited_s, seed, store_of(board, store),
                on_page.parts_for(thing, seed),
            )  # fmt: skip
            return on_page.test_on_page(opened, history, setup, every, lan, port)
        of = printed.specimen if printed else None
        if look and _asks(ask, opened.board, rating, as_json):
            looked = _agreed(opened.board, history, plan, protocol, of, _named(part, label))
            if looked is None:
                return exits.OPEN_END
        else:
            looked = look_at(opened.board, history, plan, protocol, of) if look else Looked(plan)
        plan = looked.plan or _no_plan(looked.identified)
        _check_measurement(explain, plan)
        about = plan.rating.part(id).model_copy(update={"label": label, "donor": donor})
        simulated = opened.board.identity.simulated
        kin = files.siblings(siblings, plan, simulated)
        if beside:
            kin = reference_of(history, plan, beside, simulated, id)
        task = replace(task_of(plan, about, operator, thing, seed), siblings=kin)
        record = _run(task, looked, opened, history, as_json, waited_s)
        record = golden.with_drift(history, record)
        known = "" if part or as_json else parts.known_already(history, record)
    doubts = tuple(filter(None, (*record.warnings, known)))
    tell(record, Shown(every, not part, store_of(board, store), doubts), explain, report, as_json)
    _warn(*doubts)
    if reveal and thing and not as_json:
        _reveal(thing)
    return exits.CODES[record.verdict.overall]


def _alone(**others: object) -> None:
    """Refuse what says more of one run than a page of many can take."""
    if named := [name for name, given in others.items() if given]:
        raise InputError(f"--{named[0].replace('_', '-')} is for one run; --page tests one part after the other.")


def _asks(ask: bool | None, board: "Board", rating: str | None, as_json: bool) -> bool:
    """Whether a person is there to agree to what the look proposes; a rating that is named is agreed to already."""
    there = sys.stdin.isatty() and not as_json
    return there and (ask if ask is not None else rating is None and not board.identity.simulated)


def _named(id: str, label: str) -> str:
    """Which part a prompt is for."""
    return f"Part {id}{f' ({label})' if label else ''}" if id else label or "The part in the socket"


def _agreed(
    board: "Board",
    history: "Store",
    plan: "Plan | None",
    protocol: str | None,
    of: "Specimen | None",
    part: str,
) -> "Looked | None":
    """What a person agreed to."""
    from pulldrop.cli.ask import propose
    from pulldrop.cli.show import screen
    from pulldrop.jobs.run import choose
    from pulldrop.jobs.run.by_look import look

    def see(protocol: str | None, rating: str | None) -> "Looked":
        named = choose.plan_rated(protocol, rating, board.identity.build == "bare") if rating else plan
        return look(board, history, named, protocol, None if rating else of)

    out = screen.console()
    if board.identity.simulated:
        screen.simulated(out, board.identity.kind)
    with propose.one_key() as key:
        looked = propose.agree(out, propose.Wish(protocol, part=part), see, key)
    if looked is None:
        out.print("Nothing was tested.")
    return looked


def _run(
    task: "Task", looked: "Looked", opened: "Opened", history: "Store", as_json: bool, waited_s: float | None
) -> "RunRecord":
    """The run as it goes; a person may be asked for a hand only where it is shown."""
    from pulldrop.cli.ask import by_hand
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.live import run as live
    from pulldrop.jobs.run import day
    from pulldrop.jobs.run.by_look import examine
    from pulldrop.jobs.run.test_one import RunOptions
    from pulldrop.model.wording import words

    out = screen.console()
    first = not as_json and day.first_today(history, opened.board.identity)
    seen = words.in_short(looked.identified) if looked.identified else ""
    with live.quiet() if as_json else live.Live(out, seen, first) as show:
        hand = by_hand.hand_for(
            opened, out, show.paused if isinstance(show, live.Live) else None, _named(task.part.id, task.part.label)
        )
        try:
            return examine(task, looked, opened.board, history, show, RunOptions(hand=hand, rested_s=waited_s))
        finally:
            _warn(by_hand.still_exchanged(hand), style="bold")


def unattended(task: "Task", opened: "Opened", history: "Store", as_json: bool) -> "RunRecord":
    """A run without a look before it, shown as it goes."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.live import run as live
    from pulldrop.jobs.run import day
    from pulldrop.jobs.run.test_one import run_one

    first = not as_json and day.first_today(history, opened.board.identity)
    with live.quiet() if as_json else live.Live(screen.console(), "", first) as show:
        return run_one(task, opened.board, history, show)


@dataclass(frozen=True, slots=True)
class Shown:
    """How a result is shown: `every` line or one screen; whether its part is `new`; the `store` that keeps it; the
    `doubts` that follow it.
    """

    every: bool
    new: bool
    store: str | None
    doubts: tuple[str, ...]


def tell(record: "RunRecord", shown: Shown, explain: str | None, report: Path | None, as_json: bool) -> None:
    """The result on the screen or as JSON, and the report."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.testing import result, short

    out = screen.console()
    if not as_json:
        if shown.every:
            result.show_result(out, record)
        else:
            below = sum(len(f"pulldrop: {one}") // out.width + 1 for one in shown.doubts)
            short.show_short(out, record, shown.new, below + bool(report), shown.store)
        if explain:
            result.show_budget(out, explain, record.judged)
    if report:
        _write(report, record)
        if not as_json:
            out.print(f"Report: {report}")
    if as_json:
        screen.print_json(record)


def _reveal(thing: "VirtualPart") -> None:
    from pulldrop.cli.show import screen
    from pulldrop.jobs.run.truth import revealed

    screen.console().print(revealed(thing.specimen))


def _warn(*lines: str, style: str | None = None) -> None:
    """On stderr, so that it does not get into what is piped on; empty lines are left out."""
    from pulldrop.cli.show import screen

    for line in filter(None, lines):
        screen.console(stderr=True).print(f"pulldrop: {line}", style=style)


def task_of(plan: "Plan", part: "Part", operator: str, thing: "VirtualPart | None", seed: int) -> "Task":
    """What is to be done; a virtual part says itself what it is, where nobody else does."""
    from pulldrop.jobs.run.test_one import Task

    if thing is None:
        return Task(plan=plan, part=part, operator=operator)
    about = {"label": part.label or thing.specimen.title, "donor": part.donor or thing.specimen.donor}
    part = part.model_copy(update=about)
    return Task(plan=plan, part=part, operator=operator, specimen=thing.text, seed=seed)


def _write(report: Path, record: "RunRecord") -> None:
    from pulldrop.cli.ask import files

    try:
        files.write_report(report, (record,))
    except InputError as error:
        raise InputError(f"{error} The run is kept: pulldrop report run {record.run} --out FILE") from error


def _plan(protocol: str | None, rating: str | None, thing: "VirtualPart | None", board: str) -> "Plan | None":
    """What a person named, or is printed on a virtual part; None where the look must find out the class."""
    from pulldrop.jobs.run import choose
    from pulldrop.jobs.run.boards import SIMULATED

    bare = SIMULATED.get(board) == "bare"
    if rating:
        plan = choose.plan_rated(protocol, rating, bare)
        refuse_another("test", plan, rating)
        return plan
    return choose.plan_for_specimen(thing.specimen, bare, protocol) if thing else None


def refuse_another(command: str, plan: "Plan", rating: str) -> None:
    """Raises InputError where another command tests parts of this rating."""
    from pulldrop.model.part.kinds import PARTS, how_to_use

    if PARTS[plan.rating.kind].command != command:
        raise InputError(
            f"The rating {rating} is for a {plan.rating.sort}. Test it: {how_to_use(plan.rating.kind, rating)}"
        )


def _no_plan(identified: "Identification | None") -> "Plan":

    looks = (
        f" It looks like one for {identified.rating}, but that is not certain."
        if identified and identified.rating
        else ""
    )
    raise InputError(
        f"What kind of relay is in the socket?{looks} Name its rating with --rating, such as class-mini-12v-form-c"
        " (5 terminals, 12 V); 'pulldrop protocol list' shows all of them, 'pulldrop identify' what the part is."
    )


def _check_measurement(asked: str | None, plan: "Plan | None") -> None:
    from pulldrop.model.measurement import MEASUREMENTS
    from pulldrop.model.wording.near import hint

    known = plan.wanted if plan else tuple(MEASUREMENTS)
    if asked is None or asked in known:
        return
    if asked in MEASUREMENTS and plan:
        raise InputError(f"The protocol {plan.protocol} does not measure '{asked}'; it measures {', '.join(known)}.")
    raise InputError(f"There is no measurement '{asked}' to explain; {hint(asked, known)}")
