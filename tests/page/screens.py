"""The sizes of screens that look at a page, and the bench that shows and is pressed."""

from dataclasses import dataclass, field

from pulldrop.model.crate import Command, CrateView
from pulldrop.page import Page

PHONE = dict(viewport=dict(width=360, height=740), has_touch=True, is_mobile=True)
SMALL = dict(viewport=dict(width=320, height=568), has_touch=True, is_mobile=True)
TABLET = dict(viewport=dict(width=820, height=1180), has_touch=True, is_mobile=True)
MONITOR = dict(viewport=dict(width=1920, height=1080))


@dataclass
class Bench:
    """The other side of the page: what it shows, what it was given, what it answers and what it was told."""

    commands: list[Command] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    refusal: str = ""
    page: Page = field(init=False)

    def take(self, command: Command) -> str:
        if not self.refusal:
            self.commands.append(command)
        return self.refusal

    def show(self, view: CrateView) -> None:
        self.page.show(view)
