"""A part's history as PDF: what wears, each measurement over time, what happened to it, and how its runs came to be.

Rule: it repeats judgements and makes none; the words are those of the page.
"""

from collections.abc import Sequence

from pulldrop.model import words
from pulldrop.model.history.history import Health, SeriesHealth
from pulldrop.model.part.event import PartEventKind
from pulldrop.model.run.record import RunRecord
from pulldrop.model.signs import signs
from pulldrop.report import health as told
from pulldrop.report.cautions import cautions
from pulldrop.report.paper.certificate import shaped, tone
from pulldrop.report.paper.sheet import Column, Row, Say, Sheet
from pulldrop.report.pictures import course

SHAPE = 2.7 / 4.6
WORRY = (Column("what", 0.22), Column("last", 0.2), Column("limit", 0.24), Column("first to last", 0.17),
         Column("trend", 0.17))  # fmt: skip
READINGS = (Column("date", 0.16), Column("value", 0.26), Column("as measured", 0.2), Column("outcome", 0.18),
            Column("usual?", 0.2))  # fmt: skip
HAPPENED = (Column("date", 0.13), Column("what", 0.15), Column("where", 0.25), Column("said", 0.32), Column("by", 0.15))
RUNS = (Column("date", 0.2), Column("verdict", 0.15), Column("how it came to be", 0.35), Column("not tested", 0.3))


def history(health: Health, records: Sequence[RunRecord], photos: told.Photos = ()) -> bytes:
    """The PDF; `records` are the part's runs; each gets a line about its origin."""
    sheet = Sheet(
        f"History of part {health.part}", f"History of part {health.part}; {records[-1].software}", health.now
    )
    worst, means = words.of_these([run.origin for run in health.runs])
    sheet.marks(words.mark(worst), words.marked(worst, means) if words.mark(worst) else "")
    sheet.add_page()
    _head(sheet, health)
    _worry(sheet, health)
    _courses(sheet, health)
    _happened(sheet, health)
    for _, content, says in photos:
        sheet.photo(content, says)
    _readings(sheet, health)
    sheet.heading("Its runs")
    sheet.listing(RUNS, [_run(record) for record in records])
    sheet.heading("Cautions")
    for caution in (told.PAST, *cautions(records)):
        sheet.say(Say(f"• {caution}"))
    return bytes(sheet.output())


def _head(sheet: Sheet, health: Health) -> None:
    last = health.runs[-1]
    sheet.say(Say("History of a part", tone="faint", pt=9), 0.5)
    sheet.say(Say(health.part, bold=True, pt=18), 0.5)
    sheet.say(Say(f"{health.span}. As of {health.now:%Y-%m-%d}.", tone="faint"))
    sheet.say(Say(f"Last verdict: {shaped(last.overall, last.mark)}", bold=True, tone=tone(last.overall), pt=11), 2)
    for line in health.says:
        sheet.say(Say(signs(line), bold=True, pt=11), 1.5)
    sheet.pairs(told.card(health))


def _worry(sheet: Sheet, health: Health) -> None:
    sheet.heading("All measurements, the most worrying first")
    about = (
        "± is the expanded uncertainty, about 95 %. Readings are compared under the same volts and load; volts and ohms"
        " at 20 °C where the name says so. A trend is called at 1 % (Mann-Kendall) when the interval of its slope"
        " (Theil and Sen, with the readings' uncertainty) leaves zero out."
    )
    sheet.say(Say(about, tone="faint", pt=7.5))
    worse = [index for index, found in enumerate(health.findings) if found.worse]
    sheet.listing(WORRY, [_worried(found) for found in health.findings], worse)


def _worried(found: SeriesHealth) -> Row:
    series, last = found.series, found.series.points[-1]
    title = [Say(signs(series.title), bold=True)]
    if found.worse:
        title.append(Say("✘ gets worse", tone="fail", pt=7.5))
    return (
        title,
        [Say(told.value(series, last.value, last.expanded))],
        [Say(signs(series.limit) or "none"), Say(signs(series.limit_source), tone="faint", pt=7)],
        [Say(told.change(found), pt=7.5)],
        [Say(told.trend(found), pt=7.5)],
    )


def _courses(sheet: Sheet, health: Health) -> None:
    """The pictures of all that was read twice at least."""
    drawn = [
        (course.file(found, health.events, words.mark(health.origin)), signs(found.says))
        for found in health.findings
        if len(found.series.points) > 1
    ]
    if not drawn:
        return
    sheet.room(sheet.drawing_mm(SHAPE) + 24)  # never a heading without its first pictures
    sheet.heading("Over time")
    about = "Band: the usual range by the part's own first readings (EWMA). Dashed: limit. Dotted: slope."
    about += f" {words.EVENT_LEGEND}."
    sheet.say(Say(about, tone="faint", pt=7.5))
    sheet.drawings(drawn, SHAPE)


def _readings(sheet: Sheet, health: Health) -> None:
    for found in health.findings:
        series = found.series
        sheet.heading(signs(series.title))
        if series.same:
            sheet.say(Say(signs(series.same), tone="faint", pt=7.5), 0.2)
        if series.left_out:
            left = signs("; ".join(series.left_out))
            sheet.say(Say(f"Not compared (conditions differ from the newest): {left}", tone="faint", pt=7.5), 0.2)
        sheet.listing(READINGS, [_reading(found, place) for place in range(len(series.points))])


def _reading(found: SeriesHealth, place: int) -> Row:
    series, point = found.series, found.series.points[place]
    measured = told.value(series, point.measured) if point.measured != point.value else "same"
    return (
        [Say(f"{point.at:%Y-%m-%d}", pt=7.5)],
        [Say(told.value(series, point.value, point.expanded), pt=7.5)],
        [Say(measured, pt=7.5)],
        [Say(shaped(point.outcome), tone=tone(point.outcome), pt=7.5)],
        [Say(found.standing(place), pt=7.5)],
    )


def _happened(sheet: Sheet, health: Health) -> None:
    events = [event for event in health.events if event.kind is not PartEventKind.DESCRIBED]
    if not events:
        return
    sheet.heading("What happened to it")
    rows = []
    for e in events:
        what = f"{words.EVENT_LETTERS.get(e.kind, '')} {e.kind}".strip()
        told = (f"{e.at:%Y-%m-%d}", what, e.place, words.said(e), e.operator)
        rows.append([[Say(text, pt=7.5)] for text in told])
    sheet.listing(HAPPENED, rows)


def _run(record: RunRecord) -> Row:
    word, mark = record.verdict.overall, record.verdict.mark
    return (
        [Say(f"{record.started:%Y-%m-%d %H:%M} UTC", pt=7.5), Say(record.run, tone="faint", pt=6.5)],
        [Say(shaped(word, mark), bold=True, tone=tone(word), pt=7.5)],
        [Say(text, pt=7) for text in words.origin(record)],
        [Say(signs(words.not_tested_in_short(record)), pt=7)],
    )
