"""`pulldrop store`: what the history is kept in. Is it whole, a backup, what others measured, a later judgement."""

from pathlib import Path
from typing import Annotated

import typer

from pulldrop.cli.ask.options import BesideOption, JsonOption, SiblingsOption, StoreOption
from pulldrop.cli.input_error import InputError
from pulldrop.cli.show.listing import Listing

app = typer.Typer(
    cls=Listing, help="Look after the history: check it, back it up, import what others measured.", no_args_is_help=True
)
FileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="A file.")]


@app.command("info")
def info(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Say where the store is, and how much it holds."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import store as show
    from pulldrop.store import Store

    with Store.look(store) as history:
        found = history.info()
    screen.answer(found, as_json, show.show_info)


@app.command("verify")
def verify(
    store: StoreOption = None,
    head: Annotated[
        str, typer.Option("--head", metavar="N:HASH", help="A head noted before; shows whether the end is missing.")
    ] = "",
    remake: Annotated[
        bool, typer.Option("--remake", help="First rebuild the working sums from the records; no record is touched.")
    ] = False,
    forget: Annotated[
        bool, typer.Option("--forget", help="First let go of the head that was noted here, and note the present one.")
    ] = False,
    as_json: JsonOption = False,
) -> int:
    """Check every row against the chain, and name each that was altered, removed, moved or put in.

    Exit codes: 0 all is as it was written, 1 something is not, 2 the store cannot be read. Note the head that is
    printed where the store's keeper cannot change it, such as on paper: only with it can anybody see whether the
    newest entries, or all from some entry on, were removed or rewritten.
    """
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import store as show
    from pulldrop.store import Store

    with (
        (Store.open if remake else Store.look)(store) as history,
        screen.progress("entries", quiet=as_json) as progress,
    ):
        if remake:
            history.remake()
        if forget:
            history.note_head()
        found = history.verify(head, progress)
    screen.answer(found, as_json, show.show_verified)
    return 1 if found.findings else 0


@app.command("backup")
def backup(file: FileArgument, store: StoreOption = None, as_json: JsonOption = False) -> int:
    """Write the whole store into a new SQLite file, also while a bench goes on measuring, and its photos beside it.

    Exit codes: 0 all of it is there, 1 all records are, but not every photo, 2 nothing was written.
    """
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import BackupAnswer
    from pulldrop.cli.show.history import store as show
    from pulldrop.store import Store
    from pulldrop.store.exchange import backups

    with Store.look(store) as history:
        made = backups.backup(history, file)
        answer = BackupAnswer(file=str(file), store=history.name, head=made.head, lacks=made.lacks)
    screen.answer(answer, as_json, show.show_backup)
    return 1 if made.lacks else 0


@app.command("restore")
def restore(
    file: FileArgument,
    store: StoreOption = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Move the present store aside first; nothing is deleted.")
    ] = False,
    head: Annotated[
        str, typer.Option("--head", metavar="N:HASH", help="The backup's head, as 'store backup' printed it.")
    ] = "",
    as_json: JsonOption = False,
) -> int:
    """Restore the store from a backup, after checking that against its chain. Close other pulldrop programs first.

    Where a store was before, only its own backup is restored; a newer one, or any other, by --head. Where none was
    and no --head is given, nothing vouches for the backup, and the answer says so.

    Exit codes: 0 all of it is there, 1 all records are, but a photo or the noted head is not, 2 nothing was restored.
    """
    from datetime import UTC, datetime

    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import BackupAnswer
    from pulldrop.cli.show.history import store as show
    from pulldrop.store import locate
    from pulldrop.store.exchange import backups

    place = locate(store)
    made = backups.restore(file, place, replace, datetime.now(UTC), head)
    moved = str(made.aside) if made.aside else ""
    answer = BackupAnswer(
        file=str(file), store=place.name, head=made.head, moved_to=moved, lacks=made.lacks, vouched=made.vouched
    )
    screen.answer(answer, as_json, show.show_restored)
    return 1 if made.lacks else 0


@app.command("import")
def take_in(
    source: Annotated[str, typer.Argument(metavar="SOURCE", help="A rescue file, a record, a store's file or URL.")],
    same: Annotated[
        list[str] | None,
        typer.Option("--same", metavar="ID", help="This id is the same part in both stores; * stands for any letters."),
    ] = None,
    head: Annotated[
        str,
        typer.Option("--head", metavar="N:HASH", help="The head noted at the other bench vouches for it."),
    ] = "",
    all_or_nothing: Annotated[
        bool, typer.Option("--all-or-nothing", help="Refuse the whole source when anything in it does not hold.")
    ] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Import a rescue file, records from --json, or all of another bench's store. Nothing is doubled.

    A store is held against its own chain first, and every verdict is judged again: what does not hold is refused. What
    is taken in stays marked FROM OUTSIDE, UNVERIFIED, unless --head shows that it is that bench's own store.

    Two benches may have given one id to two parts. They stay two: the one that comes in gets another id, and the
    answer names it.

    Exit codes: 0 everything is here now, 1 something was refused, 2 the source cannot be read.
    """
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import store as show
    from pulldrop.jobs.parts.imports import import_from
    from pulldrop.store import Store

    with Store.open(store) as history:
        answer = import_from(history, source, tuple(same or ()), head, all_or_nothing)
    screen.answer(answer, as_json, show.show_import)
    return 1 if answer.refused else 0


@app.command("rejudge")
def rejudge(
    run: Annotated[str, typer.Argument(metavar="RUN", help="The run's id, as 'parts show' lists it.")],
    protocol: Annotated[
        str | None, typer.Option("--protocol", metavar="NAME|FILE", help="The protocol to use; else the quick one.")
    ] = None,
    rating: Annotated[
        str | None, typer.Option("--rating", metavar="NAME|FILE", help="The rating to use; else the run's.")
    ] = None,
    beside: BesideOption = None,
    siblings: SiblingsOption = None,
    operator: Annotated[str, typer.Option("--operator", metavar="NAME", help="Who judges.")] = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Judge a run again by another protocol or rating, or beside parts of its kind; its own verdict stays.

    Exit codes are those of 'test'.
    """
    from datetime import UTC, datetime

    from pulldrop.cli.ask import files
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.history import store as show
    from pulldrop.jobs.parts.rejudge import rejudge as judge_again
    from pulldrop.jobs.run import choose
    from pulldrop.store import Store

    if not (protocol or rating or beside or siblings):
        raise InputError(
            "Name what to judge by: --protocol, --rating, --beside or --siblings. 'pulldrop protocol list' shows the"
            " first two."
        )
    with Store.open(store) as history:
        record = history.record(run)
        plan = choose.plan_rated(protocol, rating or record.plan.rating) if protocol or rating else record.plan
        kin = files.siblings(siblings, plan, record.simulated)
        judgement = judge_again(history, run, plan, datetime.now(UTC), operator, beside or (), kin)
    screen.answer(judgement, as_json, lambda out, made: show.show_judgement(out, made, record.verdict.word))
    return exits.CODES[judgement.verdict.overall]


@app.command("learned")
def learned(
    file: FileArgument,
    rating: Annotated[str, typer.Option("--rating", metavar="NAME|FILE", help="The rating of the parts.")],
    protocol: Annotated[
        str, typer.Option("--protocol", metavar="NAME|FILE", help="The protocol that they went through.")
    ] = "relay-diagnose",
    beside: Annotated[
        list[str] | None,
        typer.Option("--beside", metavar="ID", help="Only these parts; of a class they must be named."),
    ] = None,
    simulated: Annotated[bool, typer.Option("--simulated", help="Of simulated parts; else of real ones.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write what sound parts of one type read into a file, for other benches: 'test --siblings FILE' there.

    It holds the number of parts, how each reading spreads, how, where and when they were tested, and no ids.
    """
    from pulldrop.cli.ask import files
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import store as show
    from pulldrop.jobs.parts.siblings import reference_of, reference_of_rating
    from pulldrop.jobs.run import choose
    from pulldrop.protocol.ratings.reference import written
    from pulldrop.store import Store

    plan = choose.plan_rated(protocol, rating)
    with Store.open(store) as history:
        made = (
            reference_of(history, plan, beside, simulated) if beside else reference_of_rating(history, plan, simulated)
        )
    files.keep(file, written(made))
    screen.answer(made, as_json, lambda out, found: show.show_learned(out, found, str(file)))
