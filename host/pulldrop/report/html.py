"""One HTML file of one record or of several: no script, nothing fetched from anywhere, every word escaped."""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from pulldrop.model.record import RunRecord
from pulldrop.report import words
from pulldrop.report.cautions import cautions
from pulldrop.report.pictures import pictures

HERE = Path(__file__).parent


def page(records: Sequence[RunRecord], title: str = "") -> str:
    """The whole page. With more than one record a table of all of them comes first."""
    if not records:
        raise ValueError("a report needs at least one record")
    return _environment().get_template("page.jinja").render(
        title=title or f"Part {records[0].part.id}",
        records=records,
        simulated=sum(record.simulated for record in records),
        cautions=cautions(records),
        style=Markup((HERE / "page.css").read_text(encoding="utf-8")),
    )  # fmt: skip


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.globals["say"] = words
    environment.globals["pictures"] = _pictures
    return environment


def _pictures(record: RunRecord, key: str) -> list[tuple[Markup, str]]:
    """Pictures are our own markup: no word of a user is in them."""
    return [(Markup(one.svg), one.caption) for one in pictures(record, key)]
