"""The fleet on the terminal: what is due, what wears fastest, which parts are unlike their siblings."""

from collections.abc import Iterator
from itertools import groupby, islice

from rich.console import Console
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.model.history.fleet import FROM_LINES, Fleet, Group

MOST_SHOWN = 12


def show_fleet(out: Console, found: Fleet, statistics: bool) -> None:
    """All of it; `statistics`: the scores of outliers, and how much room there is to limits."""
    screen.marked(out, found.origin)
    out.print(f"{found.parts} tested part{'' if found.parts == 1 else 's'}.")
    if found.without:
        out.print(found.without)
    if found.rests_on == "straight lines":
        out.print(FROM_LINES)
    _show_due(out, found)
    _show_groups(out, found)
    _show_outliers(out, found, statistics)
    if statistics:
        _show_capabilities(out, found)


def _heading(out: Console, text: str) -> None:
    out.print(Text(f"\n{text}", style="bold"))


def _show_due(out: Console, found: Fleet) -> None:
    _heading(out, f"Due (by a forecast, a run that was no pass, or {found.every_months:g} months since the last test)")
    if not found.due:
        out.print("  none")
        return
    table = screen.table("part", "where", "why")
    for one in found.due[:MOST_SHOWN]:
        table.add_row(one.part, one.place or "not recorded", "; ".join(one.reasons))
    out.print(table)
    _more(out, found, "due", len(found.due))


def _more(out: Console, found: Fleet, of: str, listed: int, what: str = "") -> None:
    left_out = found.left_out.get(of, 0)
    more = max(listed - MOST_SHOWN, 0) + left_out
    if more:
        out.print(f"  and {more} more{what}; --json has {f'the first {listed}' if left_out else 'them all'}")


def _show_groups(out: Console, found: Fleet) -> None:
    _heading(out, "What wears fastest (share of the way from its first readings to its limit that a part loses a year)")
    table = screen.table("by", "", "parts", "wearing", "a year", "mostly")
    table.columns[1].min_width = 22
    for column in table.columns[2:5]:
        column.justify = "right"
    last = ""
    for one in _shown(found):
        by, last = (one.grouping if one.grouping != last else ""), one.grouping
        table.add_row(by, one.name, str(one.parts), str(one.wearing), f"{100 * one.share_a_year:.0f} %", one.by)
    out.print(table)
    for by in dict.fromkeys(one.grouping for one in found.groups) if found.rests_on == "straight lines" else ():
        _more(out, found, by, sum(one.grouping == by for one in found.groups), f" by {by}")


def _shown(found: Fleet) -> Iterator[Group]:
    """All groups; of many parts the first of each grouping."""
    for _, of in groupby(found.groups, key=lambda one: one.grouping):
        yield from islice(of, MOST_SHOWN if found.rests_on == "straight lines" else None)


def _show_outliers(out: Console, found: Fleet, statistics: bool) -> None:
    lines = found.rests_on == "straight lines"
    beyond = f" (beyond 3.5 {'' if lines else 'robust '}standard deviations)" if statistics else ""
    _heading(out, f"Unlike their siblings of the same type{beyond}")
    if not found.outliers:
        out.print(f"  none; fewer than {15 if lines else 5} of a type are not compared")
        return
    for one in found.outliers[:MOST_SHOWN]:
        out.print(screen.beside(one.part, one.says + (f" ({one.score:+.1f})" if statistics else ""), width=6))
    _more(out, found, "outliers", len(found.outliers))


def _show_capabilities(out: Console, found: Fleet) -> None:
    tight = [one for one in found.capabilities if one.cpk < 4 / 3]
    if tight:
        _heading(out, "Little room to a limit (Cpk of the last readings below 1.33)")
        for one in tight:
            out.print(f"  {one.cpk:5.2f}  {one.title}, {one.parts} parts of {one.type}")
