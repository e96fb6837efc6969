"""The end of a run in the few words that every short screen shows: what decided it, the cause, the next step, the id.

Rule: terminal and page say these words and no others; neither judges nor leaves out a word within a sentence.
"""

import re
import shlex
from collections.abc import Iterator
from typing import Literal

from pulldrop.model.raw import Frozen
from pulldrop.model.reading import Reading
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.record import RunRecord
from pulldrop.model.scale import Mark
from pulldrop.model.verdict import SAYS_NOTHING, Judged, Outcome, Overall
from pulldrop.model.wording import words
from pulldrop.model.wording.cautions import after_run

EVEN = 0.5
"""A fault that is no more probable than its absence is not named where the run itself is not settled."""
MOST_ROWS = 6
"""Measurements that are shown at most."""
TELLING = (
    "contact_drop_no", "contact_drop_twin", "contact_drop_nc", "pull_in_voltage_20c", "drop_out_voltage",
    "operate_time", "release_time", "coil_resistance_20c", "contact_dry_nc", "leakage_coil_contact",
    "contact_rest", "leakage_open_contact", "pair_resistance", "pair_drop", "pair_drop_hot", "lamp_current",
    "lamp_power", "lamp_warming", "pair_dry", "switch_table", "joint_most",
)  # fmt: skip
"""What a person wants to read of a part that met every limit, or was checked without load, in this order."""

About = Literal["found", "cause", "means", "why"]


class ShortRow(Frozen):
    """One measurement: its outcome, title, value or a dash, and limit."""

    outcome: Outcome
    title: str
    value: str
    limit: str


class ShortResult(Frozen):
    """The end of a run. `word`: the verdict with its mark; `said`: sentences and what each is about.

    next: what to do, the first sentence first; mind: cautions; write: what goes on the part, empty when it is there;
    more: the command that shows every line.
    """

    part: str
    overall: Overall
    mark: Mark | None
    word: str
    rows: tuple[ShortRow, ...]
    said: tuple[tuple[About, str], ...]
    next: tuple[str, ...]
    mind: str
    write: str
    more: str


def short_result(record: RunRecord, new: bool, store: str | None = None) -> ShortResult:
    """A run in short. `new`: its id is not on the part yet; `store`: where it is kept, as `--store` names it."""
    verdict, id = record.verdict, record.part.id
    at = f" {shlex.join(['--store', store])}" if store else ""
    return ShortResult(
        part=id,
        overall=verdict.overall,
        mark=verdict.mark,
        word=verdict.word.upper(),
        rows=tuple(map(_row, _telling(record))),
        said=tuple(_said(record)),
        next=tuple(re.split(r"(?<=[.!?]) (?=[A-Z])", verdict.next)),
        mind=" ".join(after_run(record)),
        write=f"{id} on the part, with a pen" if new else "",
        more=f"pulldrop parts show {id}{at}",
    )


def _said(record: RunRecord) -> Iterator[tuple[About, str]]:
    """The most probable fault with its first reason; without one, what the verdict means, unless all is good. First
    of all what came between."""
    verdict = record.verdict
    settled = verdict.overall in (Overall.PASS, Overall.FAIL)
    if verdict.overall in SAYS_NOTHING:
        yield "found", verdict.found
    if record.faults and (settled or record.faults[0].weight > EVEN):
        yield "cause", _named(record, record.faults[0])
    elif settled and verdict.unlike:
        reason = f": {verdict.unlike.evidence[0].text}" if verdict.unlike.evidence else ""
        yield "cause", f"{verdict.unlike.text}{reason}"
    elif verdict.overall is not Overall.PASS:
        yield "means", verdict.means
        left = words.not_tested(record)
        if left and not settled:
            reason = max(left, key=lambda one: len(left[one]))
            yield "why", f"{len(left[reason])} of {len(record.plan.wanted)} not tested: {reason}"


def _named(record: RunRecord, fault: NamedFault) -> str:
    """A fault with the first reading that speaks for it; of a part that could not be measured, with why it is named."""
    read = {one.id for one in record.judged if isinstance(one.finding, Reading)}
    spoken = [one for one in fault.evidence if one.speaks == "for"]
    reason = next((one.text for one in sorted(spoken, key=lambda one: one.id not in read)), "")
    share = f"{fault.title} [{100 * min(fault.weight, 0.99):.0f} %]"
    return f"{share}, because of {reason}" if reason else share


def _telling(record: RunRecord) -> tuple[Judged, ...]:
    """What failed, then what is unsure; where nothing is, the readings that say most of a good part."""
    doubted = [one for word in (Outcome.FAIL, Outcome.UNSURE) for one in record.judged if one.outcome is word]
    if doubted or record.verdict.overall not in (Overall.PASS, Overall.WITHOUT_LOAD):
        return tuple(doubted[:MOST_ROWS])
    judged = {one.id: one for one in record.judged if isinstance(one.finding, Reading)}
    return tuple(judged[id] for id in TELLING if id in judged)[:MOST_ROWS]


def _row(one: Judged) -> ShortRow:
    limit = one.limit.text.partition(" (")[0] if one.limit else "no limit"
    return ShortRow(outcome=one.outcome, title=words.title(one.id), value=words.value(one.finding) or "-", limit=limit)
