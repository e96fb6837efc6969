"""`pulldrop parts`: which parts there are, which one is meant, and all that is known of one."""

from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli import parts_keep
from pulldrop.cli.ask.options import JsonOption, StoreOption
from pulldrop.cli.show.listing import Listing

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.jobs.parts.keep import PartView
    from pulldrop.model.part.event import PartEvent
    from pulldrop.store import RunLine

app = typer.Typer(cls=Listing, help="Keep, look up and show parts, and their runs.", no_args_is_help=True)
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
    from pulldrop.jobs.parts.keep import views
    from pulldrop.store import Store

    with Store.open(store) as history:
        found = views(history)
    if as_json:
        screen.print_json(found)
        return
    out = screen.console()
    if not found:
        out.print("There is no part yet. Try: pulldrop demo")
        return
    _show_parts(out, found)


@app.command("find")
def find_parts(
    text: Annotated[str, typer.Argument(help="An id, a scanned label, a donor, or words from its card.")] = "",
    like: Annotated[
        str, typer.Option("--like", metavar="PART", help="Which other part its last readings look like.")
    ] = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find parts by what is written on them, by what is known of them, or by their readings."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.errors import InputError
    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.store import Store

    if bool(text) == bool(like):
        raise InputError("Find what? Name a text, or a part with --like; not both.")
    with Store.open(store) as history:
        likeness = jobs.looks_like(history, jobs.resolve(history, like)) if like else None
        found = jobs.find(history, text) if text else (likeness.part,) if likeness else ()
    if as_json:
        screen.print_json(found)
        return
    out = screen.console()
    if likeness:
        out.print(f"{like} looks like {jobs.in_words(likeness)}.")
    if not found:
        out.print("None." if text else f"{like} looks like no other part.")
        return
    _show_parts(out, found)


@app.command("show")
def show_part(
    part: Annotated[str, typer.Argument(help="The part's id, typed or scanned.")],
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one part: its card, what happened to it, all its runs, and the whole of the last one."""
    from pulldrop.cli.show import result, screen
    from pulldrop.cli.show.part_answer import PartAnswer
    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.jobs.parts.golden import with_drift
    from pulldrop.store import Store

    with Store.open(store) as history:
        id = jobs.resolve(history, part)
        runs = history.runs(id)
        answer = PartAnswer(
            part=jobs.view(history, history.part(id)),
            events=history.events_ever(id),
            runs=runs,
            last=with_drift(history, history.record(runs[-1].run)) if runs else None,
        )
    if as_json:
        screen.print_json(answer)
        return
    out = screen.console()
    if answer.part.simulated:
        screen.simulated(out, answer.last.board.kind if answer.last else "virtual or emulated")
    _show_card(out, answer.part)
    _show_happened(out, answer.events)
    if answer.last is None:
        out.print("Never tested.")
        return
    _show_runs(out, runs)
    out.print(f"\nThe last run, {answer.last.run}:")
    result.show_result(out, answer.last)
    for line in answer.last.warnings:
        out.print(screen.beside("!", line, width=2))


def _about(one: "PartView") -> str:
    card = one.card
    return "; ".join(text for text in (card.kind, card.donor, card.position, card.notes) if text)


def _show_card(out: "Console", one: "PartView") -> None:
    from pulldrop.cli.show import screen

    out.print(f"Part {one.part.id}: {_about(one) or 'nothing noted about it'}")
    for word, text in (
        ("printed", one.card.printed),
        ("sheet", one.card.sheet),
        ("where", one.place),
        ("also", ", ".join(one.also)),
    ):
        if text:
            out.print(screen.beside(word, text, width=8))


def _show_happened(out: "Console", events: "tuple[PartEvent, ...]") -> None:
    from pulldrop.cli.show import screen
    from pulldrop.jobs.parts.keep import EVENT_SHOWN

    if not events:
        return
    gone = {one.withdraws for one in events}
    table = screen.table("date", "what", "where", "said", "event")
    for one in events:
        what = f"{one.kind} {one.withdraws[-EVENT_SHOWN:]}" if one.withdraws else one.kind
        what += ", withdrawn" if one.id in gone else ""
        table.add_row(f"{one.at:%Y-%m-%d}", what, one.place, one.text or one.photo[:16], one.id[-EVENT_SHOWN:])
    out.print(table)


def _show_parts(out: "Console", found: "tuple[PartView, ...]") -> None:
    from rich.text import Text

    from pulldrop.cli.show import screen

    table = screen.table("part", "last verdict", "runs", "last tested", "about")
    for one in found:
        where = one.place or "; ".join(text for text in (one.card.donor, one.card.position) if text)
        about = "; ".join(text for text in (one.card.kind, where) if text)
        about = ("SIMULATED " if one.simulated else "") + about + (f"; also {', '.join(one.also)}" if one.also else "")
        table.add_row(
            one.part.id,
            screen.verdict(one.last.overall, one.last.mark) if one.last else Text("never tested"),
            str(one.runs),
            f"{one.last.started:%Y-%m-%d %H:%M}" if one.last else "",
            about,
        )
    out.print(table)


def _show_runs(out: "Console", runs: "tuple[RunLine, ...]") -> None:
    from pulldrop.cli.show import screen

    table = screen.table("started", "verdict", "protocol", "run")
    for line in runs:
        word = screen.verdict(line.overall, line.mark)
        table.add_row(f"{line.started:%Y-%m-%d %H:%M}", word, f"{line.protocol} {line.protocol_version}", line.run)
    out.print(table)
