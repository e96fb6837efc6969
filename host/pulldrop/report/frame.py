"""What every HTML of this room is made with: templates that escape each word, and the style as text."""

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

HERE = Path(__file__).parent


@cache
def templates() -> Environment:
    """A word of a user is escaped, and a name that nobody gave is an error."""
    return Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )


@cache
def style() -> str:
    """The style of a part's history and of the fleet."""
    return "".join((HERE / name).read_text(encoding="utf-8") for name in ("page.css", "history.css"))


def shapes() -> Markup:
    """The drawings that stand beside words, once a page."""
    return Markup(templates().get_template("shapes.jinja").render())
