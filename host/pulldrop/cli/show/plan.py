"""A protocol on the terminal, bound to a rating: its steps, and its limits with their sources."""

from rich.console import Console

from pulldrop.cli.show import screen
from pulldrop.cli.show.answers import ProtocolsAnswer
from pulldrop.cli.show.testing.result import Footnotes
from pulldrop.model import words
from pulldrop.model.quantity import show
from pulldrop.model.run.plan import Plan

SETTINGS = {
    "V": ("probe", "at", "full", "coarse", "fine", "coil"),
    "s": ("coarse_dwell", "dwell", "pulse"),
    "A": ("load",),
}
"""Units of the settings of a step."""


def show_protocols(out: Console, found: ProtocolsAnswer) -> None:
    """All protocols, then all ratings."""
    protocols = [(one.protocol, one.title) for one in found.protocols]
    ratings = [(one.rating, one.title) for one in found.ratings]
    for heading, lines in (("protocol", protocols), ("rating", ratings)):
        table = screen.table(heading, "title")
        for line in lines:
            table.add_row(*line)
        out.print(table)


def show_plan(out: Console, plan: Plan) -> None:
    """One protocol for parts of one rating."""
    out.print(f"{plan.protocol}, version {plan.version}: {plan.title}")
    out.print(f"for rating {plan.rating.rating}: {plan.rating.title}; another with --rating")
    for number, step in enumerate(plan.steps, 1):
        settings = ", ".join(_setting(name, value) for name, value in step if name != "measure" and value is not None)
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
