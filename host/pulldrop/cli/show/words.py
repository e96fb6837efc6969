"""How values, outcomes and verdicts are written; plain ASCII, so that any terminal can show them."""

from rich.text import Text

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.identification import Identification
from pulldrop.model.quantity import show
from pulldrop.model.reading import Finding, NotTested, state_words
from pulldrop.model.scale import Mark
from pulldrop.model.verdict import Judged, Outcome, Overall, with_mark

SHAPES = {
    Outcome.PASS: "[+]",
    Outcome.FAIL: "[X]",
    Outcome.UNSURE: "[?]",
    Outcome.NOT_TESTED: "[ ]",
    Outcome.NOTED: "[.]",
    Overall.PASS: "[+]",
    Overall.FAIL: "[X]",
    Overall.UNSURE: "[?]",
    Overall.INCOMPLETE: "[ ]",
    Overall.WITHOUT_LOAD: "[ ]",
    Overall.INTERRUPTED: "[ ]",
    Overall.BENCH_TROUBLE: "[!]",
}
"""A shape beside every word, so that nothing rests on colour."""

TONES = {
    Outcome.PASS: "bold bright_blue",
    Outcome.FAIL: "bold dark_orange",
    Outcome.UNSURE: "bold",
    Outcome.NOT_TESTED: "bold",
    Outcome.NOTED: "dim",
    Overall.PASS: "bold bright_blue",
    Overall.FAIL: "bold dark_orange",
}
"""Blue and orange: told apart by nearly everybody."""


def verdict(overall: Overall, mark: Mark | None) -> Text:
    """A verdict in a list: shape, word and mark."""
    return Text(f"{SHAPES[overall]} {with_mark(overall, mark)}", style=tone(overall))


def tone(word: Outcome | Overall) -> str:
    """The style of a word; bold where none is set."""
    return TONES.get(word, "bold")


def title(measurement: str) -> str:
    """The words for a measurement id."""
    known = MEASUREMENTS.get(measurement)
    return known.title if known else measurement


def value(finding: Finding) -> str:
    """`7.32 V +-0.05`, `> 10 kohm`, `30-87 open, 30-87a closed`, or `-` when nothing was measured."""
    if isinstance(finding, NotTested):
        return "-"
    if finding.value is None:
        return state_words(finding.state) or "-"
    if finding.bound != "=":
        return f"{finding.bound} {show(finding.value, finding.unit)}"
    return show(finding.value, finding.unit, finding.expanded_uncertainty)


def telling(judged: tuple[Judged, ...]) -> Judged | None:
    """The one measurement that says most: the first failure, then unsure, then not tested, then the contact drop."""
    for outcome in (Outcome.FAIL, Outcome.UNSURE, Outcome.NOT_TESTED):
        for one in judged:
            if one.outcome is outcome:
                return one
    return next((one for one in judged if one.id == "contact_drop_no"), judged[-1] if judged else None)


def in_short(identified: Identification) -> str:
    """What a part is, in a line."""
    volts = f"{identified.volts:g} V" if identified.volts else f"coil {identified.winding}"
    forms = f"Form {' or '.join(identified.forms[:2])}" if identified.forms else "form not told"
    across = identified.suppression.kind
    suppression = {"none": "no suppression", "unknown": "suppression not told"}.get(across, f"with {across}")
    return f"{volts}, {forms}, {suppression} ({identified.sure})"
