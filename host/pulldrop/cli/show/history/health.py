"""The health of a part on the terminal: what wears, in words, a table and pictures."""

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import course
from pulldrop.model.history.history import Health, SeriesHealth
from pulldrop.model.quantity import show
from pulldrop.model.wording import words

MOST_DRAWN = 3


def show_health(out: Console, found: Health, only: SeriesHealth | None, statistics: bool) -> None:
    """All of it, or what one measurement says."""
    _show_head(out, found)
    if only:
        _show_one(out, found, only, statistics)
    else:
        _show_all(out, found)


def _show_head(out: Console, found: Health) -> None:
    screen.marked(out, *words.of_these([run.origin for run in found.runs]))
    card = found.card
    about = "; ".join(text for text in (card.description, card.donor, card.position) if text)
    out.print(Text(f"Part {found.part}: {words.marked(found.card_came, about) if about else found.kind}", style="bold"))
    last = found.runs[-1]
    out.print(f"{found.span}; the last: {screen.verdict(last.overall, last.mark).plain}.", highlight=False)
    if found.place:
        out.print(f"Now: {words.marked(found.place_came, found.place)}.")
    out.print()
    for line in found.says:
        out.print(screen.beside("->", Text(line, style="bold"), width=2))


def _show_all(out: Console, found: Health) -> None:
    out.print()
    out.print(_table(found, course.blocks(out)))
    out.print(
        Text(
            f"readings: {course.steps(out)}. The most worrying come first. Changes are over all runs since it"
            " was cleaned; 'within U': not beyond both uncertainties.",
            style="dim",
        )
    )
    drawn = [one for one in found.findings if one.worse][:MOST_DRAWN] or list(found.findings[:1])
    for one in drawn:
        _draw(out, found, one)
    if any(len(one.series.points) > 1 for one in drawn):
        out.print(Text(course.LEGEND, style="dim"))
    _show_events(out, found)
    _show_left_out(out, found.findings)


def _table(found: Health, blocks: bool) -> Table:
    table = screen.table("measurement", "last +- U", "change", "trend", "readings")
    for one in found.findings:
        point, unit = one.series.points[-1], one.series.unit
        shape = words.badge(point.outcome).sign
        way = {"few": "too few", "none": "none"}.get(one.trend.way, one.trend.way)
        style = "bold dark_orange" if one.worse else "bold" if one.trend.way in ("rising", "falling") else "dim"
        table.add_row(
            f"{shape} {one.series.title}",
            show(point.value, unit, point.expanded),
            one.moved,
            Text(f"{way}, worse" if one.worse else way, style=style),
            course.heights([p.value for p in one.series.points][-12:], blocks),
        )
    return table


def _draw(out: Console, found: Health, one: SeriesHealth) -> None:
    drawn = course.lines(one, found.events, out.width)
    if drawn:
        same = f", {one.series.same}" if one.series.same else ""
        out.print(Text(f"\n{one.series.title}{same}; limit {one.series.limit or 'none'}", style="bold"))
        for line in drawn:
            out.print(line, soft_wrap=True)


def _show_one(out: Console, found: Health, one: SeriesHealth, statistics: bool) -> None:
    """One measurement with every reading, and its usual range; `statistics`: how slope and range came about."""
    _draw(out, found, one)
    out.print(Text(course.LEGEND, style="dim"))
    series, trend, chart = one.series, one.trend, one.chart
    table = screen.table("date", "value +- U", "as measured", "outcome", "against its first")
    for place, point in enumerate(series.points):
        table.add_row(
            f"{point.at:%Y-%m-%d}",
            show(point.value, series.unit, point.expanded),
            show(point.measured, series.unit) if point.measured != point.value else "the same",
            f"{words.badge(point.outcome).sign} {point.outcome}",
            one.standing(place),
        )
    out.print(table)
    if statistics and trend.way != "few":
        out.print(
            f"slope {trend.slope(series.unit)} (95 %, the readings' uncertainty in it); Mann-Kendall {trend.chance}."
        )
    if chart is not None:
        how = ", smoothed (EWMA, lambda 0.3, 3 sigma)" if statistics else ""
        out.print(
            f"usual range by the first {chart.base} readings{how}:"
            f" {show(chart.lower, series.unit)} to {show(chart.upper, series.unit)}."
        )
    if series.limit:
        out.print(f"limit {series.limit} [{series.limit_source}]")
    out.print(Text(one.says, style="bold"))
    _show_left_out(out, (one,))


def _show_events(out: Console, found: Health) -> None:
    told = [event for event in found.events if event.kind in words.EVENT_LETTERS]
    if not told:
        return
    out.print("\nWhat happened:")
    table = screen.table("date", "what", "where", "said")
    for event in told:
        table.add_row(f"{event.at:%Y-%m-%d}", event.kind, event.place, words.said(event))
    out.print(table)


def _show_left_out(out: Console, findings: tuple[SeriesHealth, ...]) -> None:
    for one in findings:
        if one.series.left_out:
            left = "; ".join(one.series.left_out)
            out.print(
                Text(f"{one.series.title}: not compared (conditions differ from the newest): {left}", style="dim")
            )
