"""A protocol on the terminal, bound to a rating: its steps, and its limits with their sources."""

from rich.console import Console
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.answers import ProtocolsAnswer
from pulldrop.cli.show.testing.result import Footnotes
from pulldrop.model.part.kinds import PARTS
from pulldrop.model.quantity import show
from pulldrop.model.run.plan import Plan
from pulldrop.model.wording import words

SETTINGS = {
    "V": ("probe", "at", "full", "coarse", "fine", "coil"),
    "s": ("coarse_dwell", "dwell", "pulse"),
    "A": ("load",),
}
"""Units of the settings of a step."""


def show_protocols(out: Console, found: ProtocolsAnswer, every: bool) -> None:
    """Purposes by kinds of part, then the classes to test against, and makers' sheets, with `every` title."""
    for kind in dict.fromkeys(one.kind for one in found.protocols):
        sorted_too = any(one.kind == kind and one.purpose == "crate" for one in found.protocols)
        crates = "; a crate-... by pulldrop sort CRATE" if sorted_too else ""
        out.print(Text(f"{kind}: pulldrop {PARTS[kind].command} --protocol NAME{crates}", style="bold"))
        table = screen.table("name", "what for", "time")
        for one in found.protocols:
            if one.kind == kind:
                table.add_row(one.protocol, one.title.removeprefix(f"{kind}, "), _time(one.seconds))
        out.print(table)
    out.print(Text("against what: --rating NAME; left out, the class that the look finds", style="bold"))
    table = screen.table("name", "parts")
    for rating in found.ratings:
        if every or rating.any_maker:
            table.add_row(rating.rating, rating.title)
    out.print(table)
    if not every:
        sheets = [one.rating for one in found.ratings if not one.any_maker]
        out.print(f"and {len(sheets)} makers' sheets, listed by -v: {', '.join(sheets)}")
    for kind, names in found.others.items():
        out.print(f"{PARTS[kind].plural}, by pulldrop {PARTS[kind].command} --rating NAME: {', '.join(names)}")


def _time(seconds: tuple[float, ...]) -> str:
    """About how long a sound part takes."""
    if not seconds:
        return ""
    words = " to ".join(dict.fromkeys(f"{one:.0f}" for one in seconds))
    return f"{words} s" if max(seconds) < 100 else f"{max(seconds) / 60:.0f} min"


def show_plan(out: Console, plan: Plan) -> None:
    """One protocol for parts of one rating."""
    out.print(f"{plan.protocol}, version {plan.version}: {plan.title}")
    out.print(f"for rating {plan.rating.rating}: {plan.rating.title}; another with --rating")
    for number, step in enumerate(plan.steps, 1):
        settings = ", ".join(
            _setting(name, value) for name, value in step if name != "measure" and value not in (None, ())
        )
        out.print(screen.beside(f"step {number}", f"{step.measure}: {settings}", width=7))
    for kind, why in plan.left_out.items():
        out.print(screen.beside("without", f"{kind}: {why}", width=7))
    notes, table = Footnotes(), screen.table("measurement", "limit (source)")
    for id in plan.wanted:
        table.add_row(words.title(id), plan.unlimited.get(id) or notes.limit(plan.limits.get(id)))
    out.print(table)
    notes.show(out)


def _setting(name: str, value: object) -> str:
    unit = next((unit for unit, names in SETTINGS.items() if name in names), "")
    shown = show(value, unit) if isinstance(value, float) else str(value)
    return f"{name.replace('_', ' ')} {shown}"
