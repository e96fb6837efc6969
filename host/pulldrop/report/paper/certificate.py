"""The test certificate: records as PDF, each on pages of its own; it repeats judgements and makes none."""

from collections.abc import Sequence

from pulldrop.model.limit import Limit
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.model.scale import Mark
from pulldrop.model.verdict import Judged, Outcome, Overall
from pulldrop.model.wording import positions, words
from pulldrop.model.wording.signs import signs
from pulldrop.report.cautions import cautions
from pulldrop.report.paper.sheet import COLOURS, SHAPES, Column, Row, Say, Sheet, Tone
from pulldrop.report.pictures import waveform
from pulldrop.report.pictures.scenes import scenes

COLUMNS = (Column("what", 0.31), Column("value", 0.2), Column("limit", 0.29), Column("outcome", 0.2))
TONES: dict[str, Tone] = {"pass": "pass", "open": "ink", "fail": "fail"}
PLACES = (("pass", "pass"), ("open", "not settled"), ("fail", "fail"))


def certificate(records: Sequence[RunRecord], title: str = "") -> bytes:
    """The PDF. With more than one record a table of all of them comes first."""
    if not records:
        raise ValueError("a certificate needs at least one record")
    last = records[-1]
    title = title or f"Test certificate, part {last.part.id}"
    sheet = Sheet(title, f"{title}; {last.software}", max(record.ended or record.started for record in records))
    if len(records) > 1:
        _list(sheet, records, title)
    for record in records:
        _run(sheet, record)
    sheet.heading("Cautions")
    for caution in cautions(records):
        sheet.say(Say(f"• {caution}"))
    return bytes(sheet.output())


def tone(word: Outcome | Overall) -> Tone:
    """The colour that repeats what a word says."""
    return TONES[words.badge(word).place]


def shaped(word: Outcome | Overall, mark: Mark | None = None) -> str:
    """The word with its shape before it, and its mark behind."""
    return f"{SHAPES[words.badge(word).shape]} {word}{f', {mark}' if mark else ''}"


def _list(sheet: Sheet, records: Sequence[RunRecord], title: str) -> None:
    worst, means = words.of_these([record.origin for record in records])
    sheet.marks(words.mark(worst), words.marked(worst, means) if words.mark(worst) else "")
    sheet.add_page()
    sheet.say(Say(title, bold=True, pt=16), 3)
    columns = (Column("part", 0.3), Column("verdict", 0.2), Column("found", 0.5))
    sheet.listing(columns, [_line(record) for record in records])


def _line(record: RunRecord) -> Row:
    word, part = record.verdict.overall, record.part
    about = f"{part.label} {words.mark(record.origin)}"
    return (
        [Say(part.id, bold=True), Say(about, tone="faint", pt=7.5)],
        [Say(shaped(word, record.verdict.mark), bold=True, tone=tone(word))],
        [Say(signs(record.verdict.found))],
    )


def _run(sheet: Sheet, record: RunRecord) -> None:
    sheet.marks(words.mark(record.origin), words.banner(record))
    sheet.add_page()
    sheet.say(Say("Test certificate", tone="faint", pt=9), 0.5)
    sheet.say(Say(record.part.id, bold=True, pt=18), 0.5)
    if record.part.label:
        sheet.say(Say(record.part.label, pt=11), 0.5)
    bench = "" if record.calibration.calibrated else ". Uncalibrated bench"
    sheet.say(Say(f"{record.plan.title}, {words.when(record.started)}{bench}.", tone="faint"), 2)
    _verdict(sheet, record)
    said = (("found", record.verdict.found), ("means", record.verdict.means), ("next", record.verdict.next))
    sheet.pairs([(name, signs(text)) for name, text in said], 0.12)
    for warning in record.warnings:
        sheet.say(Say(f"! {signs(warning)}", bold=True))
    _measurements(sheet, record)
    _positions(sheet, record)
    _faults(sheet, record)
    _unlike(sheet, record)
    _not_tested(sheet, record)
    sheet.drawings([(waveform.file(scene), signs(caption)) for _, scene, caption in scenes(record)], 3.0 / 4.2)
    sheet.heading("How this record was made")
    sheet.pairs(words.facts(record))
    _signature(sheet)


def _verdict(sheet: Sheet, record: RunRecord) -> None:
    """The word, its shape and its place; nothing rests on colour."""
    word = record.verdict.overall
    colour, place = COLOURS[tone(word)], words.badge(word).place
    top, wide = sheet.y, sheet.epw / len(PLACES)
    sheet.set_draw_color(*colour)
    sheet.set_line_width(1.0)
    sheet.rect(sheet.l_margin, top, sheet.epw, 23)
    sheet.set_font("DejaVu", "B", 34 if len(record.verdict.word) < 12 else 24)
    sheet.set_text_color(*colour)
    align = {"pass": "L", "open": "C", "fail": "R"}[place]
    sheet.set_xy(sheet.l_margin + 3, top + 1.5)
    sheet.cell(sheet.epw - 6, 14, shaped(word, record.verdict.mark).upper(), align=align)
    for index, (name, text) in enumerate(PLACES):
        here = name == place
        sheet.set_xy(sheet.l_margin + index * wide, top + 16.5)
        sheet.set_font("DejaVu", "B" if here else "", 9)
        sheet.set_fill_color(*colour)
        sheet.set_text_color(*((255, 255, 255) if here else COLOURS["faint"]))
        sheet.cell(wide, 6.5, text, align=("L", "C", "R")[index], fill=here)
    sheet.set_xy(sheet.l_margin, top + 26)


def _measurements(sheet: Sheet, record: RunRecord) -> None:
    judged = [one for one in record.judged if isinstance(one.finding, Reading)]
    if not judged:
        return
    sheet.heading("Measurements")
    sheet.say(Say("± is the expanded uncertainty, about 95 %.", tone="faint", pt=7.5), 0)
    failed = [index for index, one in enumerate(judged) if one.outcome is Outcome.FAIL]
    sheet.listing(COLUMNS, [_measured(record, one) for one in judged], failed)


def _positions(sheet: Sheet, record: RunRecord) -> None:
    """The workshop table of a switch: equal letters in a row are joined."""
    for table, names in positions.tables(record):
        sheet.heading("Positions")
        sheet.say(Say("Terminals with the same letter in a row are joined, a dot is joined with none.", pt=7.5), 0)
        share = 0.5 / len(table.terminals)
        columns = (Column("position", 0.2), *(Column(one, share, "C") for one in table.terminals), Column("", 0.3))
        rows = [[[Say(signs(cell), bold=len(cell) == 1)] for cell in row] for row in positions.table_rows(table, names)]
        sheet.listing(columns, rows)
        for sentence in positions.of_table(table, names):
            sheet.say(Say(f"• {signs(sentence)}"), 0.2)


def _measured(record: RunRecord, one: Judged) -> Row:
    limit = words.limit_of(record, one)
    outcome = [Say(shaped(one.outcome), bold=True, tone=tone(one.outcome))]
    if one.outcome in (Outcome.FAIL, Outcome.UNSURE):
        outcome.append(Say(signs(one.reason), tone="faint", pt=7))
    if one.grade:
        outcome.append(Say(words.grade(one), tone="faint", pt=7))
    return (
        [Say(signs(words.title(one.id))), Say(signs(words.conditions(one)), tone="faint", pt=7)],
        [Say(signs(words.value(one.finding)), bold=True)],
        _limit(limit),
        outcome,
    )


def _limit(limit: Limit | str) -> list[Say]:
    if isinstance(limit, str):
        return [Say(signs(limit), tone="faint", pt=7)]
    return [Say(signs(limit.text)), Say(f"{limit.source.known}: {signs(limit.source.text)}", tone="faint", pt=7)]


def _not_tested(sheet: Sheet, record: RunRecord) -> None:
    """Each reason once, with all that it holds for."""
    reasons = words.not_tested(record)
    if not reasons:
        return
    sheet.heading("Not tested")
    columns = (Column("what", 0.6), Column("why", 0.4))
    rows = [([Say(signs(", ".join(titles)))], [Say(signs(reason))]) for reason, titles in reasons.items()]
    sheet.listing(columns, rows)


def _faults(sheet: Sheet, record: RunRecord) -> None:
    if not record.faults:
        return
    sheet.heading("What is wrong with it")
    for number, fault in enumerate(record.faults, start=1):
        share = f"{100 * min(fault.weight, 0.99):.0f} % among the causes known here"
        sheet.room(16)
        sheet.say(Say(f"{number}. {fault.title}: {share}", bold=True))
        for said in fault.evidence:
            sheet.say(Say(f"• {said.speaks}: {signs(said.text)}"), 0.2)
        if fault.rivals:
            sheet.say(Say(f"It could also be: {words.rivals(record, fault)}."))
        if fault.further:
            sheet.say(Say(f"Further test: {signs(fault.further)}"))
        if words.advised(record, fault):
            sheet.say(Say(f"What to do: {signs(fault.advice)}", bold=True), 2)


def _unlike(sheet: Sheet, record: RunRecord) -> None:
    if unlike := record.verdict.unlike:
        sheet.heading("What is unlike others")
        sheet.say(Say(f"The part is {signs(unlike.text)}. That is no fault, as far as this test tells.", bold=True))
        for said in unlike.evidence:
            sheet.say(Say(f"• unusual: {signs(said.text)}"), 0.2)


def _signature(sheet: Sheet) -> None:
    sheet.room(20)
    sheet.ln(12)
    for name, at in (("tested by", 0.0), ("date", 0.55)):
        left = sheet.l_margin + at * sheet.epw
        sheet.set_line_width(0.2)
        sheet.set_draw_color(*COLOURS["faint"])
        sheet.line(left, sheet.y, left + 0.4 * sheet.epw, sheet.y)
        sheet.set_xy(left, sheet.y + 0.5)
        sheet.set_font("DejaVu", "", 7)
        sheet.set_text_color(*COLOURS["faint"])
        sheet.cell(40, 4, name)
        sheet.set_xy(sheet.l_margin, sheet.y - 0.5)
    sheet.ln(6)
