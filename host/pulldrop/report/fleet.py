"""The fleet as one HTML file: what is due, what wears fastest, which parts are unlike their siblings.

Rule: no script, nothing fetched from anywhere, every word escaped; it repeats judgements and makes none.
"""

from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from pulldrop.model.fleet import Fleet
from pulldrop.report import words
from pulldrop.report.cautions import AID

HERE = Path(__file__).parent


def page(fleet: Fleet) -> str:
    """The whole page."""
    environment = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    most = max((group.share_a_year for group in fleet.groups), default=0.0)
    return environment.get_template("fleet.jinja").render(
        fleet=fleet,
        groupings=tuple(dict.fromkeys(group.grouping for group in fleet.groups)),
        bar=lambda share: 100 * share / most if most else 0.0,
        say=words,
        aid=AID,
        style=Markup((HERE / "page.css").read_text(encoding="utf-8")),
    )
