"""`pulldrop parts new`, `edit`, `event`, `withdraw`, `join`, `photo`: what a person writes down of a part.

Rule: nothing is written over; a card that is edited, what happened, and that it did not, are new rows.
"""

from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import JsonOption, StoreOption
from pulldrop.cli.input_error import InputError

if TYPE_CHECKING:
    from pulldrop.model.part.part import Part
    from pulldrop.model.part.parts_page import PartView


class What(StrEnum):
    """What can happen to a part."""

    FITTED = "fitted"
    REMOVED = "removed"
    CLEANED = "cleaned"
    MOVED = "moved"
    NOTE = "note"


PartArgument = Annotated[str, typer.Argument(metavar="PART", help="The part's id, typed or scanned.")]
DescriptionOption = Annotated[
    str | None, typer.Option("--description", metavar="TEXT", help="What it is, such as 'mini changeover'.")
]
PrintedOption = Annotated[str | None, typer.Option("--printed", metavar="TEXT", help="What is printed on it.")]
SheetOption = Annotated[
    str | None, typer.Option("--sheet", metavar="TEXT", help="The maker's sheet, or the name of a rating.")
]
DonorOption = Annotated[str | None, typer.Option("--donor", metavar="TEXT", help="What it was pulled from.")]
PositionOption = Annotated[
    str | None, typer.Option("--position", metavar="TEXT", help="Its position there, such as 'horn'.")
]
NotesOption = Annotated[str | None, typer.Option("--notes", metavar="TEXT", help="Anything else.")]
OperatorOption = Annotated[str, typer.Option("--operator", metavar="NAME", help="Who says so.")]


def new(
    form: Annotated[
        str | None, typer.Option("--form", metavar="FORM", help="Contact form of a relay, such as A or C.")
    ] = None,
    rating: Annotated[
        str | None,
        typer.Option("--rating", metavar="NAME|FILE", help="Or the rating of its type; this suits any kind of part."),
    ] = None,
    description: DescriptionOption = None,
    printed: PrintedOption = None,
    sheet: SheetOption = None,
    donor: DonorOption = None,
    position: PositionOption = None,
    notes: NotesOption = None,
    id: Annotated[str, typer.Option("--id", metavar="ID", help="An id of your own; else the next free one.")] = "",
    simulated: Annotated[bool, typer.Option("--simulated", help="The part is simulated, not real.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep a part before its first test, and get the id to write on it.

    Say what kind of part it is by --form or --rating.
    """
    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.model.part.event import Card
    from pulldrop.model.part.kinds import how_to_test
    from pulldrop.store import Store

    given = _given(description, printed, sheet, donor, position, notes)
    part = _part(id, form, rating)
    with Store.open(store) as history:
        made = jobs.new(history, part, Card(**given), simulated)
    _answer(made, f"Write {made.part.id} on the part. {how_to_test(made.part)}", as_json)


def _part(id: str, form: str | None, rating: str | None) -> "Part":
    """The part of a contact form, or of a rating. Raises InputError and BadText."""
    from pulldrop.cli.input_error import InputError
    from pulldrop.model.part.relay import FORMS, Relay
    from pulldrop.model.wording.near import hint
    from pulldrop.protocol.ratings.files import load_any_rating
    from pulldrop.protocol.shipped import library

    if (form is None) == (rating is None):
        raise InputError("What kind of part is it? Name --form, such as --form C, or --rating, but not both.")
    if rating is not None:
        return load_any_rating(library.find_rating(rating)).part(id)
    if form not in FORMS:
        near = str(form).upper()
        raise InputError(f"'{form}' is no contact form; {hint(near if near in FORMS else str(form), FORMS)}")
    return Relay(id=id, form=form)


def edit(
    part: PartArgument,
    description: DescriptionOption = None,
    printed: PrintedOption = None,
    sheet: SheetOption = None,
    donor: DonorOption = None,
    position: PositionOption = None,
    notes: NotesOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Change a part's card; what is not named stays, and the old card is kept."""
    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.store import Store

    given = _given(description, printed, sheet, donor, position, notes)
    if not given:
        raise InputError(
            "What is to change? Name at least one of --description, --printed, --sheet, --donor, --position, --notes."
        )
    with Store.existing(store) as history:
        id = jobs.resolve(history, part)
        before = jobs.view(history, history.part(id))
        jobs.describe(history, before.part, before.card.model_copy(update=given), before.simulated)
        made = jobs.view(history, history.part(id))
    _answer(made, f"The card of {id} is changed; the old one is kept too.", as_json)


def event(
    part: PartArgument,
    what: Annotated[What, typer.Argument(metavar="WHAT", help="fitted, removed, cleaned, moved, or note.")],
    text: Annotated[str, typer.Argument(help="In words.")] = "",
    place: Annotated[str, typer.Option("--place", metavar="TEXT", help="Where the part is now.")] = "",
    at: Annotated[
        datetime | None, typer.Option("--at", formats=["%Y-%m-%d"], metavar="DATE", help="When; else now.")
    ] = None,
    operator: OperatorOption = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down what happened to a part between two tests."""
    from datetime import UTC

    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.model.part.event import PartEvent, PartEventKind
    from pulldrop.store import Store

    if what in (What.FITTED, What.MOVED) and not place:
        raise InputError(f"{what.capitalize()} where? Name the place, such as --place 'town bus 12, saloon lights'.")
    if what is What.NOTE and not text:
        raise InputError("A note needs its text, such as: pulldrop parts event 4K7RT note 'case is chipped'")
    when = at.astimezone(UTC) if at else datetime.now(UTC)
    with Store.existing(store) as history:
        id = jobs.resolve(history, part)
        kind = PartEventKind(what.value)
        history.part_event(PartEvent(part=id, at=when, kind=kind, text=text, place=place, operator=operator))
        made = jobs.view(history, history.part(id))
    _answer(made, f"Kept: {id} {what} {when:%Y-%m-%d}.{f' It is now: {made.place}.' if made.place else ''}", as_json)


def withdraw(
    part: PartArgument,
    which: Annotated[str, typer.Argument(metavar="EVENT", help="The event, as 'pulldrop parts show' names it.")],
    text: Annotated[str, typer.Argument(help="Why.")] = "",
    operator: OperatorOption = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Withdraw a wrong event; it stays in the record, but no longer counts."""
    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.store import Store

    with Store.existing(store) as history:
        id = jobs.resolve(history, part)
        gone = jobs.withdraw(history, id, which, text, operator)
        made = jobs.view(history, history.part(id))
    _answer(made, f"Withdrawn: {id} {gone.kind} {gone.at:%Y-%m-%d}. If something else happened, record that.", as_json)


def join(
    part: PartArgument,
    into: Annotated[str, typer.Argument(metavar="INTO", help="The part that it really is; its id and card stay.")],
    text: Annotated[str, typer.Argument(help="How you know.")] = "",
    operator: OperatorOption = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Join two ids of one part into one history. Nothing is moved, and 'withdraw' undoes it."""
    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.store import Store

    with Store.existing(store) as history:
        id, goes_by = jobs.join(history, part, into, text, operator)
        made = jobs.view(history, history.part(goes_by))
    _answer(made, f"{id} is {goes_by} now, with {made.runs} runs in all. Write {goes_by} on the part.", as_json)


def photo(
    part: PartArgument,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A picture; it is copied beside the store.")],
    text: Annotated[str, typer.Argument(help="What it shows.")] = "",
    operator: OperatorOption = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep a photo of a part, under the hash of its content."""
    from pulldrop.jobs.parts import keep as jobs
    from pulldrop.store import Store

    with Store.existing(store) as history:
        id = jobs.resolve(history, part)
        kept = history.photo(jobs.add_photo(history, id, file, text, operator).photo)
        made = jobs.view(history, history.part(id))
    _answer(made, f"Kept as {kept}.", as_json)


def _given(
    description: str | None,
    printed: str | None,
    sheet: str | None,
    donor: str | None,
    position: str | None,
    notes: str | None,
) -> dict[str, str]:
    named = dict(description=description, printed=printed, sheet=sheet, donor=donor, position=position, notes=notes)
    return {name: text for name, text in named.items() if text is not None}


def _answer(made: "PartView", said: str, as_json: bool) -> None:
    from pulldrop.cli.show import screen

    screen.answer(made, as_json, lambda out, _: out.print(said))
