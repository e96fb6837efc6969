"""`pulldrop protocol`: the test protocols that there are, what one does, and whether one of your own is well formed."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import JsonOption
from pulldrop.cli.show.listing import Listing

if TYPE_CHECKING:
    from pulldrop.model.crate.sorting import Sorting
    from pulldrop.model.run.plan import Plan


app = typer.Typer(cls=Listing, help="List, show and check test protocols.", no_args_is_help=True)


@app.command("list")
def list_protocols(as_json: JsonOption = False) -> None:
    """List the protocols and ratings that ship with pulldrop."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import ProtocolLine, ProtocolsAnswer, RatingLine
    from pulldrop.cli.show.plan import show_protocols
    from pulldrop.protocol import library
    from pulldrop.protocol.ratings import load_rating
    from pulldrop.text.document import read

    files = [*map(library.find, library.names()), *map(library.find_crate, library.crate_names())]
    heads = [(file.stem, read(file).value) for file in files]
    protocols = tuple(
        ProtocolLine(protocol=name, title=str(head["title"])) for name, head in heads if isinstance(head, dict)
    )
    rated = [load_rating(library.find_rating(name)) for name in library.rating_names()]
    ratings = tuple(
        RatingLine(rating=one.rating, title=one.title, form=one.form, nominal_v=one.nominal) for one in rated
    )
    screen.answer(ProtocolsAnswer(protocols=protocols, ratings=ratings), as_json, show_protocols)


@app.command("show")
def show(
    protocol: Annotated[str, typer.Argument(help="A name or a file.")],
    rating: Annotated[
        str, typer.Option("--rating", metavar="NAME|FILE", help="The parts to show it for.")
    ] = "class-mini-12v-form-c",
    as_json: JsonOption = False,
) -> None:
    """Show the steps of a protocol, and its limits for parts of a rating."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.plan import show_plan
    from pulldrop.protocol.load import plan

    bound = plan(protocol, rating)
    screen.answer(bound, as_json, show_plan)


@app.command("check")
def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A protocol, of a part or a crate, or a rating.")],
    as_json: JsonOption = False,
) -> int:
    """Check a protocol or a rating: every mistake with file, line and column, and what was expected."""
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.answers import CheckAnswer
    from pulldrop.model.part.kind import not_tested
    from pulldrop.model.part.rating import Rating
    from pulldrop.model.part.switch import SwitchRating
    from pulldrop.model.part.two_terminal import TwoTerminalRating
    from pulldrop.protocol import crate, load, ratings
    from pulldrop.protocol.check import check as check_protocol

    kind = crate.check if crate.is_crate(file) else ratings.check_rating if load.is_rating(file) else check_protocol
    found = kind(file)
    problems = tuple(str(one) for one in found) if isinstance(found, list) else ()
    if as_json:
        screen.print_json(CheckAnswer(file=str(file), ok=not problems, problems=problems))
    elif isinstance(found, list):
        print("\n".join(problems))
    elif isinstance(found, SwitchRating | TwoTerminalRating):
        print(f"{file}: well formed; {found.rating}, {found}. {not_tested('It', found.kind)}.")
    elif isinstance(found, Rating):
        print(f"{file}: well formed; {found.rating}, form {found.form}, {found.nominal:g} V. To use it: --rating FILE")
    else:
        print(f"{file}: well formed; {_suits(found)}.")
    return exits.INPUT if problems else 0


def _suits(found: "tuple[Plan, ...] | tuple[Sorting, ...]") -> str:
    """What a protocol of a part or a crate consists of, and the classes that it suits."""
    from pulldrop.model.crate.sorting import Sorting
    from pulldrop.model.run.plan import Plan

    crates = [one for one in found if isinstance(one, Sorting)]
    plans = [one.full for one in crates] or [one for one in found if isinstance(one, Plan)]
    rules, steps = max((len(one.rules) for one in crates), default=0), max(len(plan.steps) for plan in plans)
    return f"{f'{rules} rules' if rules else f'{steps} steps'}, for {', '.join(plan.rating.rating for plan in plans)}"
