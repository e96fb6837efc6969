"""The page's help: a few short pages with pictures made here, readable without script, network or store."""

from markupsafe import Markup

from pulldrop.model.crate.crate import Bin
from pulldrop.model.wording import cautions
from pulldrop.page.render import BIN_LOOKS, PAGES

TOPICS = {"bench": "The bench", "socket": "The part and the socket", "outcomes": "Outcomes, and what to do"}
"""Each page by the end of its address, in order."""
DO = {
    Bin.KEEP: ("Every limit was met.", "Write the number on it and put it in the KEEP box. What it was not tested for"
               " stands on the screen and on its label."),
    Bin.LIGHT_DUTY: ("It works, with a worn contact or on one throw.", cautions.LIGHT_DUTY),
    Bin.LOOK_AGAIN: ("Nobody can say yet: a limit lies inside the uncertainty, or it is of another kind or the other"
                     " way round.", "Read the reason, do what it says, then test it by itself: pulldrop test."),
    Bin.SCRAP: ("A limit was missed for sure.", "Write the number on it all the same, so that it is not tested twice."),
}  # fmt: skip
"""What each bin means, and what to do with the part."""
BLADES = {"30": (150, 205), "87": (150, 35), "87a": (150, 120), "85": (40, 120), "86": (260, 120)}
"""Blades of a common 5-terminal part from below, in the units of the picture (from memory; read the numbers)."""


def help_page(topic: str) -> str:
    """One page. Raises KeyError for none of `TOPICS`."""
    return PAGES.get_template("help.jinja").render(
        topic=topic, title=TOPICS[topic], topics=TOPICS, do=DO, looks=BIN_LOOKS, cautions=cautions,
        bench=_bench(), blades=_blades(), inside=(_inside(False), _inside(True)),
    )  # fmt: skip


def _svg(wide: int, high: int, says: str, body: str) -> Markup:
    return Markup(
        f'<svg viewBox="0 0 {wide} {high}" role="img" aria-label="{says}" fill="none" stroke="currentColor"'
        f' stroke-width="2" font-size="14">{body}</svg>'
    )


def _words(x: float, y: float, text: str) -> str:
    return f'<text x="{x}" y="{y}" text-anchor="middle" fill="currentColor" stroke="none">{text}</text>'


def _bench() -> Markup:
    """What stands on the bench, from the computer to the part."""
    boxes = (
        (10, 70, 100, "computer"), (150, 70, 100, "board"), (290, 70, 100, "socket"),
        (150, 170, 100, "supply, fuse"), (290, 170, 100, "load"), (10, 170, 100, "stop"),
    )  # fmt: skip
    body = "".join(
        f'<rect x="{x}" y="{y}" width="{wide}" height="44" rx="6"/>{_words(x + wide / 2, y + 27, text)}'
        for x, y, wide, text in boxes
    )
    body += '<path d="M110 92h40M250 92h40M200 170v-56M340 170v-56M60 170v-20h110v-36M250 192h40"/>'
    body += f'<rect x="300" y="14" width="80" height="34" rx="4"/>{_words(340, 36, "part")}<path d="M340 48v22"/>'
    says = "Computer, board, socket with the part; supply through a fuse, load resistors, emergency stop"
    return _svg(400, 224, says, body)


def _blades() -> Markup:
    """The blades of a part, seen from below."""
    body = '<rect x="8" y="8" width="284" height="234" rx="14"/>'
    for name, (x, y) in BLADES.items():
        wide, high = (44, 10) if name in ("30", "87", "87a") else (10, 44)
        body += f'<rect x="{x - wide / 2}" y="{y - high / 2}" width="{wide}" height="{high}" fill="currentColor"/>'
        body += _words(x + (34 if name == "85" else -34 if name == "86" else 0), y + (-12 if wide > high else 5), name)
    return _svg(300, 250, "Blades 30, 87, 87a, 85 and 86 from below", body)


def _inside(operated: bool) -> Markup:
    """The contacts at rest, or with the coil on."""
    arm = "M40 150L152 60" if operated else "M40 150L152 110"
    body = f'<path d="M40 190v-40" /><path d="{arm}" stroke-width="4"/><path d="M148 60h50M148 110h50"/>'
    body += '<rect x="230" y="60" width="40" height="70"/><path d="M250 60V30M250 130v30"/>'
    body += _words(40, 208, "30") + _words(222, 54, "87") + _words(216, 118, "87a")
    body += _words(250, 24, "86") + _words(250, 178, "85") + _words(250, 100, "on" if operated else "off")
    state = "operated: 30 joins 87" if operated else "at rest: 30 joins 87a"
    return _svg(300, 214, f"The relay {state}", body)
