"""Waveforms that another instrument captured, as a person reads them: outcomes, and no verdict."""

from rich.console import Console
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.testing import result
from pulldrop.jobs.waveform import MEANS, CapturedAnswer
from pulldrop.model.part.relay import FORMS
from pulldrop.model.wording.cautions import DECIDE


def show(out: Console, answer: CapturedAnswer) -> None:
    """Where it comes from first, then every outcome, and why there is no verdict."""
    screen.marked(out, answer.origin, MEANS)
    for name, sentences in (("file", answer.files), ("remark", answer.remarks)):
        for one in sentences:
            out.print(screen.beside(name, one, width=7))
    against = f"against the rating {answer.rating}" if answer.rating else "held against no limit: name a rating"
    out.print(Text(f"Taken as {FORMS[answer.form].called}, coil at {answer.coil_v:g} V, {against}"))
    result.show_outcomes(out, answer.judged)
    if answer.early_share is not None:
        out.print(f"early current: {answer.early_share:.2f} of its end after 0.4 ms")
    said = "No verdict: one switching that another instrument captured, with no contact under a known load."
    out.print(screen.beside("means", said, width=7))
    out.print(screen.beside("mind", DECIDE, width=7))
