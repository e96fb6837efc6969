"""A part's history as PDF: what wears, each measurement over time, what happened to it, and how its runs came to be.

Rule: it repeats judgements and makes none; the words are those of the page.
"""

from collections.abc import Sequence

from pulldrop.model.history.history import Health, SeriesHealth
from pulldrop.model.part.event import PartEventKind
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Outcome
from pulldrop.model.wording import words
from pulldrop.model.wording.signs import signs
from pulldrop.report import health as told
from pulldrop.report.cautions import cautions
from pulldrop.report.paper.certificate import shaped, tone
from pulldrop.report.paper.sheet import Column, Row, Say, Sheet
from pulldrop.report.pictures import course

SHAPE = 2.7 / 4.6
BESIDE = 3
"""Pictures beside each other."""
WORRY = (Column("what", 0.23), Column("last", 0.14), Column("limit", 0.35), Column("moved by", 0.12),
         Column("trend", 0.16))  # fmt: skip
READINGS = (Column("what", 0.22), Column("readings, the oldest first", 0.78))
A_TEXT = 20
"""Readings of one text: a longer one would be cut."""
MOST_DRAWN = 6
"""Pictures: those of what moved, or the first of all; every reading stands below them."""
HAPPENED = (Column("date", 0.13), Column("what", 0.15), Column("where", 0.25), Column("said", 0.32), Column("by", 0.15))
RUNS = (Column("date", 0.19), Column("verdict", 0.12), Column("how it came to be", 0.54), Column("not tested", 0.15))


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
        sheet.say(Say(f"• {caution}", pt=7), 0.3)
    return bytes(sheet.output())


def _head(sheet: Sheet, health: Health) -> None:
    last = health.runs[-1]
    sheet.say(Say("History of a part", tone="faint", pt=9), 0.5)
    sheet.say(Say(health.part, bold=True, pt=18), 0.5)
    sheet.say(Say(f"{health.span}. As of {health.now:%Y-%m-%d}.", tone="faint"))
    sheet.say(Say(f"Last verdict: {shaped(last.overall, last.mark)}", bold=True, tone=tone(last.overall), pt=11), 2)
    for line in health.says:
        sheet.say(Say(signs(line), bold=True, pt=10), 1)
    sheet.pairs(told.card(health))


def _worry(sheet: Sheet, health: Health) -> None:
    sheet.heading("All measurements, the most worrying first")
    about = (
        "± is the expanded uncertainty U, about 95 %; within U: first and last do not differ beyond both. Readings are"
        " compared under the same volts and load; volts and ohms at 20 °C where the name says so. A trend is called at"
        " 1 % (Mann-Kendall) when the interval of its slope (Theil and Sen, with the readings' uncertainty) leaves zero"
        " out."
    )
    sheet.say(Say(about, tone="faint", pt=7.5))
    worse = [index for index, found in enumerate(health.findings) if found.worse]
    sheet.listing(WORRY, [_worried(found) for found in health.findings], worse)


def _worried(found: SeriesHealth) -> Row:
    series, last = found.series, found.series.points[-1]
    title = [Say(signs(series.title), bold=True, pt=7.5)]
    if found.worse:
        title.append(Say("✘ gets worse", tone="fail", pt=7.5))
    return (
        title,
        [Say(told.value(series, last.value, last.expanded), pt=7.5)],
        [Say(signs(series.limit) or "none", pt=7.5), Say(signs(series.limit_source), tone="faint", pt=6)],
        [Say(signs(found.moved), pt=7)],
        [Say(told.trend(found), pt=7)],
    )


def _courses(sheet: Sheet, health: Health) -> None:
    """Pictures of what moved; of the first that were read twice, if nothing did."""
    twice = [found for found in health.findings if len(found.series.points) > 1]
    moved = [found for found in twice if found.moved[:1] in ("+", "-")] or twice[:3]
    drawn = [
        (course.file(found, health.events, words.mark(health.origin)), signs(found.says))
        for found in moved[:MOST_DRAWN]
    ]
    if not drawn:
        return
    sheet.room(sheet.drawing_mm(SHAPE, BESIDE) + 24)  # never a heading without its first pictures
    sheet.heading("Over time")
    about = "Band: the usual range by the part's own first readings (EWMA). Dashed: limit. Dotted: slope."
    about += f" {words.EVENT_LEGEND}. What is not drawn did not move."
    sheet.say(Say(about, tone="faint", pt=7.5))
    sheet.drawings(drawn, SHAPE, BESIDE)


def _readings(sheet: Sheet, health: Health) -> None:
    """Every reading in a line a measurement; the page and the data have what was measured before it was corrected."""
    sheet.heading("Every reading")
    sheet.say(Say("✘ failed, ? unsure, * outside the usual range by the part's own first readings", tone="faint", pt=7))
    sheet.listing(READINGS, [_all_of(found) for found in health.findings])


def _all_of(found: SeriesHealth) -> Row:
    series = found.series
    title = [Say(signs(series.title), bold=True, pt=7.5)]
    if series.same:
        title.append(Say(signs(series.same), tone="faint", pt=6.5))
    every = [_reading(found, place) for place in range(len(series.points))]
    texts = [Say(";  ".join(every[at : at + A_TEXT]), pt=7) for at in range(0, len(every), A_TEXT)]
    if series.left_out:
        left = signs("; ".join(series.left_out))
        texts.append(Say(f"Not compared (conditions differ from the newest): {left}", tone="faint", pt=6.5))
    return (title, texts)


def _reading(found: SeriesHealth, place: int) -> str:
    point = found.series.points[place]
    sign = f" {shaped(point.outcome).split()[0]}" if point.outcome in (Outcome.FAIL, Outcome.UNSURE) else ""
    odd = "*" if found.standing(place) == "outside" else ""
    return f"{point.at:%Y-%m-%d} {told.value(found.series, point.value, point.expanded)}{sign}{odd}"


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
        [Say(f"{record.started:%Y-%m-%d %H:%M} UTC", pt=7), Say(record.run, tone="faint", pt=6)],
        [Say(shaped(word, mark), bold=True, tone=tone(word), pt=7.5)],
        [Say("; ".join(words.origin(record)), pt=6)],
        [Say(signs(words.not_tested_in_short(record)), pt=6)],
    )
