"""What is seen while a run goes: a bar on a terminal, a plain line per step anywhere else."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.status import Status
from rich.table import Column

from pulldrop.cli.show import screen
from pulldrop.cli.show.live.lively import Lively
from pulldrop.jobs.run.events import Event, RunStarted
from pulldrop.measure import StepStarted
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged
from pulldrop.model.wording import words
from pulldrop.model.wording.cautions import before_run


class Live(Lively[Progress]):
    """Shows events as they come. Use as a context manager; the bar is gone when it is left.

    `looks`: what the part was taken for before the test, in a line; `first_today`: the first energised run of the day.
    """

    def __init__(self, out: Console, looks: str = "", first_today: bool = False) -> None:
        self._out, self._looks, self._first_today = out, looks, first_today
        self._moving: Progress | None = None
        if screen.lively(out):
            words_column = TextColumn("{task.description}", table_column=Column(width=48, no_wrap=True))
            columns = (words_column, BarColumn(bar_width=20), MofNCompleteColumn())
            self._moving = Progress(*columns, console=out, transient=True)

    @contextmanager
    def paused(self) -> Iterator[None]:
        """Within, the bar is away, so that a person can be asked."""
        if self._moving:
            self._moving.stop()
        yield
        if self._moving:
            self._moving.start()

    def __call__(self, event: Event) -> None:
        """Show one event."""
        match event:
            case RunStarted():
                self._start(event)
            case StepStarted():
                self._step(event)
            case Judged():
                self._judged(event)
            case RunRecord():
                pass

    def _start(self, event: RunStarted) -> None:
        if event.board.simulated:
            screen.simulated(self._out, event.board.kind)
        self._out.print(f"Part {event.part.id}: {event.plan.title}")
        if self._looks:
            self._out.print(f"Looks like: {self._looks}", style="dim")
        self._out.print(f"Against: {event.plan.rating.title}", style="dim")
        if not event.calibration.calibrated:
            self._out.print("This bench is uncalibrated: values are right within wide limits.", style="dim")
        for warning in event.warnings:
            self._out.print(warning, style="bold")
        screen.cautions(self._out, before_run([event.plan], self._first_today), event.board.simulated)
        if self._moving:
            self._moving.add_task("starting", total=len(event.plan.steps))

    def _step(self, event: StepStarted) -> None:
        words_of_step = f"step {event.index} of {event.count}: {event.title}"
        if self._moving:
            self._moving.update(self._moving.task_ids[-1], description=words_of_step, completed=event.index - 1)
        else:
            self._out.print(words_of_step)

    def _judged(self, event: Judged) -> None:
        if self._moving:
            shape = words.badge(event.outcome).sign
            line = f"{shape} {words.title(event.id)} {words.value(event.finding)}"
            self._moving.update(self._moving.task_ids[-1], description=line[:48])


class Crate(Lively[Status]):
    """Shows a crate part by part: each record as it is finished, and on a terminal which part is on the bench."""

    def __init__(self, out: Console, show_part: Callable[[Console, int, RunRecord], None]) -> None:
        self._out, self._show_part = out, show_part
        self._number = 0
        self._moving = out.status("", spinner="line") if screen.lively(out) else None

    def __call__(self, event: Event) -> None:
        """Show one event."""
        if isinstance(event, RunStarted) and self._moving:
            self._moving.update(f"on the bench: {event.part.id}  {event.part.label}")
        if isinstance(event, RunRecord):
            self._number += 1
            self._show_part(self._out, self._number, event)


def quiet() -> AbstractContextManager[Callable[[Event], None]]:
    """Shows nothing, for `--json`."""
    return nullcontext(lambda _event: None)
