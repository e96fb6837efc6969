"""One HTML file of one record or of several: no script, nothing fetched from anywhere, every word escaped."""

from collections.abc import Sequence

from markupsafe import Markup

from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import words
from pulldrop.report.cautions import cautions
from pulldrop.report.frame import style, templates
from pulldrop.report.pictures.scenes import pictures

STYLE = style()
"""Stands in the page's own style element, and nowhere else in it is any style."""


def page(records: Sequence[RunRecord], title: str = "") -> str:
    """The whole page. With more than one record a table of all of them comes first."""
    if not records:
        raise ValueError("a report needs at least one record")
    return templates().get_template("page.jinja").render(
        title=title or f"Part {records[0].part.id}",
        records=records,
        together=words.of_these([record.origin for record in records]),
        cautions=cautions(records),
        style=STYLE,
        pictures=_pictures,
    )  # fmt: skip


def _pictures(record: RunRecord, key: str) -> list[tuple[Markup, str]]:
    """Pictures are our own markup: no word of a user is in them."""
    return [(Markup(one.svg), one.caption) for one in pictures(record, key)]
