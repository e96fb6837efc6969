"""What every page is made with: templates that escape each word, what they may say, and the style as text."""

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from pulldrop.model.wording import positions, words
from pulldrop.model.wording.harmless import harmless
from pulldrop.model.wording.signs import signs

TEMPLATES = Path(__file__).parent / "templates"


@cache
def templates(folder: Path = TEMPLATES) -> Environment:
    """A word of a user is escaped, and a name that nobody gave is an error."""
    environment = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_harmless,
    )
    environment.globals.update(say=words, signs=signs, switches=positions)
    return environment


def _harmless(shown: object) -> object:
    """What a template shows; Markup stays Markup."""
    return type(shown)(harmless(shown)) if isinstance(shown, str) else shown


@cache
def style(*more: str) -> Markup:
    """The style of every page, and these style sheets behind it."""
    return Markup("".join((TEMPLATES / name).read_text(encoding="utf-8") for name in ("page.css", *more)))


def shapes() -> Markup:
    """The drawings that stand beside words, once a page."""
    return Markup(templates().get_template("shapes.jinja").render())
