"""`pulldrop protocol`: the test protocols that there are, what one does, and whether one of your own is well formed."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import JsonOption, VerboseOption
from pulldrop.cli.show.listing import Listing

if TYPE_CHECKING:
    from pulldrop.cli.show.answers import CheckAnswer
    from pulldrop.model.crate.sorting import Sorting
    from pulldrop.model.run.plan import Plan


app = typer.Typer(cls=Listing, help="List, show and check test protocols.", no_args_is_help=True)


@app.command("list")
def list_protocols(every: VerboseOption = False, as_json: JsonOption = False) -> None:
    """List what can be tested: purposes by kinds of part, with their times, and the ratings to test against."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import ProtocolLine, ProtocolsAnswer, RatingLine
    from pulldrop.cli.show.plan import show_protocols
    from pulldrop.model.part.kinds import TESTED, UNSAID
    from pulldrop.protocol.ratings.files import load_relay
    from pulldrop.protocol.shipped import library
    from pulldrop.protocol.shipped.heads import heads

    protocols = tuple(
        ProtocolLine(protocol=one.name, title=one.title, kind=one.kind, purpose=one.purpose, seconds=one.seconds)
        for one in heads()
    )
    rated = [load_relay(library.find_rating(name)) for name in library.rating_names(UNSAID)]
    ratings = tuple(
        RatingLine(
            rating=one.rating, title=one.title, form=one.form, nominal_v=one.nominal, any_maker=bool(one.any_maker)
        )
        for one in rated
    )
    others = {kind: library.rating_names(kind) for kind in TESTED if kind != UNSAID}
    answer = ProtocolsAnswer(protocols=protocols, ratings=ratings, others=others)
    screen.answer(answer, as_json, lambda out, _: show_protocols(out, answer, every))


@app.command("show")
def show(
    protocol: Annotated[str, typer.Argument(help="A protocol or a rating, by its name or file.")],
    rating: Annotated[
        str, typer.Option("--rating", metavar="NAME|FILE", help="The parts to show it for.")
    ] = "class-mini-12v-form-c",
    as_json: JsonOption = False,
) -> None:
    """Show the steps of a protocol, and its limits for parts of a rating; or the figures of a rating."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.plan import show_plan
    from pulldrop.model.part.kinds import TESTED
    from pulldrop.protocol.load import is_rating, plan
    from pulldrop.protocol.shipped import library

    if protocol in library.rating_names(*TESTED) or is_rating(Path(protocol)):
        _show_rating(protocol, as_json)
        return
    bound = plan(protocol, rating)
    screen.answer(bound, as_json, show_plan)


def _show_rating(name: str, as_json: bool) -> None:
    from pulldrop.cli.show import screen
    from pulldrop.model.part.kinds import how_to_use
    from pulldrop.protocol.ratings.files import in_words
    from pulldrop.protocol.shipped import library

    found, rows = in_words(library.find_rating(name))
    if as_json:
        screen.print_json(found)
        return
    out = screen.console()
    out.print(f"{found.rating}, a rating: {found.title} ({found})")
    out.print(f"source: {found.source.known}: {found.source.text}; another one stands beside its figure")
    table = screen.table("figure", "value", "another source")
    for what, written, source in rows:
        table.add_row(what, written, f"{source.known}: {source.text}" if source else "")
    out.print(table)
    if found.notes:
        out.print(found.notes)
    out.print(screen.beside("use", how_to_use(found.kind, name), width=6))


@app.command("check")
def check(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Protocols, of a part or a crate, or ratings.")
    ],
    as_json: JsonOption = False,
) -> int:
    """Check protocols or ratings: every mistake with file, line and column, and what was expected."""
    from pulldrop.cli.show import exits, screen

    answers = tuple(_check(file, quiet=as_json) for file in files)
    if as_json:
        screen.print_json(answers[0] if len(answers) == 1 else answers)
    return 0 if all(one.ok for one in answers) else exits.INPUT


def _check(file: Path, quiet: bool) -> "CheckAnswer":
    from pulldrop.cli.show.answers import CheckAnswer
    from pulldrop.model.part.kinds import how_to_use
    from pulldrop.model.part.rating import KindRating
    from pulldrop.model.wording.harmless import harmless
    from pulldrop.protocol import crate, load
    from pulldrop.protocol.check import check as check_protocol
    from pulldrop.protocol.ratings import files as ratings

    kind = crate.check if crate.is_crate(file) else ratings.check_rating if load.is_rating(file) else check_protocol
    found = kind(file)
    problems = tuple(str(one) for one in found) if isinstance(found, list) else ()
    if quiet:
        pass
    elif isinstance(found, list):
        print(harmless("\n".join(problems)))
    elif isinstance(found, KindRating):
        print(f"{file}: well formed; {found.rating}, {found}. To use it: {how_to_use(found.kind, str(file))}")
    else:
        print(f"{file}: well formed; {_suits(found)}.")
    return CheckAnswer(file=str(file), ok=not problems, problems=problems)


def _suits(found: "tuple[Plan, ...] | tuple[Sorting, ...]") -> str:
    """What a protocol of a part or a crate consists of, and the classes that it suits."""
    from pulldrop.model.crate.sorting import Sorting
    from pulldrop.model.run.plan import Plan

    crates = [one for one in found if isinstance(one, Sorting)]
    plans = [one.full for one in crates] or [one for one in found if isinstance(one, Plan)]
    rules, steps = max((len(one.rules) for one in crates), default=0), max(len(plan.steps) for plan in plans)
    return f"{f'{rules} rules' if rules else f'{steps} steps'}, for {', '.join(plan.rating.rating for plan in plans)}"
