"""Parts on the terminal: lists of them and of their runs, one part whole."""

from rich.console import Console
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.testing import result
from pulldrop.jobs.parts.keep import EVENT_SHOWN
from pulldrop.model.part.event import PartEvent
from pulldrop.model.part.kinds import how_to_test
from pulldrop.model.part.parts_page import PartView, RunLine
from pulldrop.model.raw import Frozen
from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import words


class PartAnswer(Frozen):
    """Of `parts show`: the part, what happened to it, its runs from the oldest on, and the whole of the last one."""

    part: PartView
    events: tuple[PartEvent, ...]
    runs: tuple[RunLine, ...]
    last: RunRecord | None


def show_whole(out: Console, answer: PartAnswer) -> None:
    """One part."""
    if answer.last:
        screen.of_run(out, answer.last)
    else:
        screen.marked(out, answer.part.origin)
    _show_card(out, answer.part)
    _show_happened(out, answer.events)
    if answer.last is None:
        out.print(f"Never tested. {how_to_test(answer.part.part)}", highlight=False)
        return
    _show_runs(out, answer.runs)
    out.print(f"\nThe last run, {answer.last.run}:")
    result.show_result(out, answer.last)
    for line in answer.last.warnings:
        out.print(screen.beside("!", line, width=2))


def _show_card(out: Console, one: PartView) -> None:
    card = one.card
    about = "; ".join(text for text in (card.description, card.donor, card.position, card.notes) if text)
    out.print(f"Part {one.part.id}: {words.marked(one.card_came, about) if about else one.part}")
    rows = (
        ("kind", str(one.part) if about else ""),
        ("printed", words.marked(one.card_came, card.printed) if card.printed else ""),
        ("sheet", words.marked(one.card_came, card.sheet) if card.sheet else ""),
        ("where", words.marked(one.place_came, one.place)),
        ("crate", ", ".join(one.numbers)),
        ("also", ", ".join(one.also)),
    )
    for word, text in rows:
        if text:
            out.print(screen.beside(word, text, width=8))


def _show_happened(out: Console, events: tuple[PartEvent, ...]) -> None:
    if not events:
        return
    gone = {one.withdraws for one in events}
    table = screen.table("date", "what", "where", "said", "event")
    for one in events:
        what = f"{one.kind} {one.withdraws[-EVENT_SHOWN:]}" if one.withdraws else one.kind
        what += ", withdrawn" if one.id in gone else ""
        table.add_row(f"{one.at:%Y-%m-%d}", what, one.place, words.said(one), one.id[-EVENT_SHOWN:])
    out.print(table)


def show_all(out: Console, found: tuple[PartView, ...]) -> None:
    """Every part of the store."""
    if found:
        show_list(out, found)
    else:
        out.print("There is no part yet. Try: pulldrop demo")


def show_list(out: Console, found: tuple[PartView, ...]) -> None:
    """A line for each part, with its last verdict."""
    table = screen.table("part", "last verdict", "runs", "last tested", "about")
    for one in found:
        about = words.marked(one.origin, _about(one), " ") + (f"; also {', '.join(one.also)}" if one.also else "")
        about += f"; crate {', '.join(one.numbers)}" if one.numbers else ""
        table.add_row(
            one.part.id,
            screen.verdict(one.last.overall, one.last.mark) if one.last else Text("never tested"),
            str(one.runs),
            f"{one.last.started:%Y-%m-%d %H:%M}" if one.last else "",
            about,
        )
    out.print(table)


def _about(one: PartView) -> str:
    """What it is and where, or where it was; each with its mark, if that is not the one of the whole line."""
    card, place = (words.apart(came, one.origin) for came in (one.card_came, one.place_came))
    pulled = () if one.place else (one.card.donor, one.card.position)
    what = "; ".join(text for text in (one.card.description, *pulled) if text)
    return "; ".join(
        filter(None, (words.marked(card, what, " ") if what else str(one.part), words.marked(place, one.place, " ")))
    )


def _show_runs(out: Console, runs: tuple[RunLine, ...]) -> None:
    table = screen.table("started", "verdict", "protocol", "run")
    for line in runs:
        word = screen.verdict(line.overall, line.mark)
        protocol = words.marked(line.origin, f"{line.protocol} {line.protocol_version}", " ")
        table.add_row(f"{line.started:%Y-%m-%d %H:%M}", word, protocol, line.run)
    out.print(table)
