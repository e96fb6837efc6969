"""A part's history as one HTML file: what wears, every measurement over time with its picture, what happened to it.

Rule: no script, nothing fetched from anywhere, every word escaped; it repeats judgements and makes none.
"""

import base64
from collections.abc import Sequence
from pathlib import Path

from markupsafe import Markup

from pulldrop.model.history.history import Health, Series, SeriesHealth
from pulldrop.model.origin import Origin
from pulldrop.model.part.event import PartEventKind
from pulldrop.model.quantity import show
from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import words
from pulldrop.model.wording.cautions import DECIDE
from pulldrop.model.wording.signs import signs
from pulldrop.report.cautions import cautions
from pulldrop.report.frame import style, templates
from pulldrop.report.pictures.course import svg

PAST = "A trend describes the past. It does not promise that a part lasts until its forecast."
WAYS = {"rising": "rising", "falling": "falling", "none": "no trend", "few": "too few readings"}


SHOWN = {".png": "image/png", ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".webp": "image/webp"}
"""Photos that a browser shows; others are named only."""


Photos = Sequence[tuple[str, bytes, str]]
"""Name, content, and what each shows."""


def page(health: Health, photos: Photos = (), records: Sequence[RunRecord] = ()) -> str:
    """The whole page; `records`: the runs; each gets a line about its origin."""
    shown = tuple(
        (_inside(name, content), text) for name, content, text in photos if content and Path(name).suffix in SHOWN
    )
    elsewhere = tuple(name for name, content, _ in photos if not content)
    told = body(health, shown, elsewhere, records)
    return templates().get_template("health.jinja").render(health=health, body=told, style=style("history.css"))


def body(
    health: Health,
    photos: Sequence[tuple[str, str]] = (),
    elsewhere: Sequence[str] = (),
    records: Sequence[RunRecord] = (),
    runs_at: str = "",
) -> Markup:
    """What stands in the page. `photos`: address and words of each; `runs_at`: where certificates are served."""
    return Markup(
        templates()
        .get_template("health_body.jinja")
        .render(
            health=health,
            card=card(health),
            happened=[event for event in health.events if event.kind is not PartEventKind.DESCRIBED],
            value=value,
            change=change,
            trend=trend,
            picture=lambda found, key: Markup(svg(found, health.events, key, words.mark(health.origin))),
            photos=photos,
            elsewhere=elsewhere,
            records=records,
            runs_at=runs_at,
            cautions=(PAST, *cautions(records)) if records else (PAST, DECIDE),
        )
    )


def _inside(name: str, content: bytes) -> str:
    """A picture that is part of the page."""
    return f"data:{SHOWN[Path(name).suffix]};base64,{base64.b64encode(content).decode()}"


def card(health: Health) -> tuple[tuple[str, str], ...]:
    """What is known of a part, each with the mark of where it came from."""
    card = health.card
    rows = (
        ("kind", health.kind), ("description", card.description), ("printed on it", card.printed),
        ("sheet", card.sheet), ("donor", card.donor), ("position", card.position), ("where it is", health.place),
        ("notes", card.notes),
    )  # fmt: skip
    came = {"kind": Origin.HERE, "where it is": health.place_came}
    return tuple((name, words.marked(came.get(name, health.card_came), text)) for name, text in rows if text)


def value(series: Series, number: float, expanded: float | None = None) -> str:
    return signs(show(number, series.unit, expanded))


def change(found: SeriesHealth) -> str:
    """How far it moved, in words."""
    return signs(found.moved).replace("within U", "within both uncertainties")


def trend(found: SeriesHealth) -> str:
    """Slope with its interval, or why there is none."""
    trend = found.trend
    if trend.way == "few":
        return WAYS[trend.way]
    slope = trend.slope(found.series.unit)
    return signs(f"{WAYS[trend.way]}{f', {slope}' if trend.way != 'none' else ''}; {trend.chance}")
