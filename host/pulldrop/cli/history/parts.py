"""`pulldrop parts`: which parts there are, which one is meant, and all that is known of one."""

from typing import Annotated

import typer

from pulldrop.cli.ask.options import JsonOption, StoreOption, elsewhere, looked
from pulldrop.cli.history import parts_keep
from pulldrop.cli.input_error import InputError
from pulldrop.cli.show.listing import Listing

app = typer.Typer(cls=Listing, help="Keep, find and show parts and their runs.", no_args_is_help=True)
app.command("new")(parts_keep.new)
app.command("edit")(parts_keep.edit)
app.command("event")(parts_keep.event)
app.command("join")(parts_keep.join)
app.command("withdraw")(parts_keep.withdraw)
app.command("photo")(parts_keep.photo)


@app.command("list")
def list_parts(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """List every part with its last verdict."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import parts
    from pulldrop.jobs.parts.keep import numbered, views

    with looked(store) as history:
        found = numbered(history, views(history))
    screen.answer(found, as_json, parts.show_all)


@app.command("find")
def find_parts(
    text: Annotated[str, typer.Argument(help="An id, a scanned label, crate and number, or words from its card.")] = "",
    like: Annotated[
        str, typer.Option("--like", metavar="PART", help="Which other part its last readings look like.")
    ] = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find parts by their id or label, by words from their cards, or by their readings."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import parts
    from pulldrop.jobs.parts import keep as jobs

    if bool(text) == bool(like):
        raise InputError("What are you looking for? Give a text, or a part with --like, but not both.")
    with looked(store) as history:
        likeness = jobs.looks_like(history, jobs.resolve(history, like)) if like else None
        found = jobs.find(history, text) if text else (likeness.part,) if likeness else ()
        found = jobs.numbered(history, found)
    if as_json:
        screen.print_json(found)
        return
    out = screen.console()
    if likeness:
        out.print(f"{like} looks like {jobs.in_words(likeness)}.")
    if not found:
        none = " ".join(filter(None, ("None.", elsewhere(store))))
        out.print(none if text else f"{like} looks like no other part.")
        return
    parts.show_list(out, found)


@app.command("show")
def show_part(
    part: Annotated[str, typer.Argument(help="The part's id, typed or scanned.")],
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one part: its card, its events, all its runs, and the whole of the last one."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import parts
    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.jobs.parts.golden import with_drift

    with looked(store) as history:
        id = jobs.resolve(history, part)
        runs = history.runs(id)
        answer = parts.PartAnswer(
            part=jobs.numbered(history, [jobs.view(history, history.part(id))])[0],
            events=history.events_ever(id),
            runs=runs,
            last=with_drift(history, history.record(runs[-1].run)) if runs else None,
        )
    screen.answer(answer, as_json, parts.show_whole)
