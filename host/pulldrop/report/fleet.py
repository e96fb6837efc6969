"""The fleet as one HTML file: what is due, what wears fastest, which parts are unlike their siblings.

Rule: no script, nothing fetched from anywhere, every word escaped; it repeats judgements and makes none.
"""

from markupsafe import Markup

from pulldrop.model.history.fleet import FROM_LINES, Fleet
from pulldrop.model.wording.cautions import OF_A_FLEET
from pulldrop.report.frame import style, templates


def page(fleet: Fleet) -> str:
    """The whole page."""
    return templates().get_template("fleet.jinja").render(fleet=fleet, body=body(fleet), style=style("history.css"))


def body(fleet: Fleet, parts_at: str = "") -> Markup:
    """What stands in the page; `parts_at`: the address of the list of parts, where one is served."""
    most = max((group.share_a_year for group in fleet.groups), default=0.0)
    return Markup(
        templates()
        .get_template("fleet_body.jinja")
        .render(
            fleet=fleet,
            from_lines=FROM_LINES,
            groupings=tuple(dict.fromkeys(group.grouping for group in fleet.groups)),
            bar=lambda share: 100 * share / most if most else 0.0,
            cautions=OF_A_FLEET,
            parts_at=parts_at,
        )
    )
