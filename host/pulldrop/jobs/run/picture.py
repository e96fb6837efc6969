"""The coil current of the last make, for whoever looks on: while a test goes on, and after it."""

from pulldrop.jobs.run.events import Event, RunStarted
from pulldrop.model.bench.calibration import Channel
from pulldrop.model.crate.crate import CoilPicture
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact
from pulldrop.model.reading import Reading
from pulldrop.model.verdict import Judged


class Pictures:
    """Follows the events of a part's runs. `newest` is None until the coil was switched on and timed."""

    def __init__(self) -> None:
        self.newest: CoilPicture | None = None
        self._fast: Channel | None = None

    def follow(self, event: Event) -> None:
        """One event more."""
        match event:
            case RunStarted():
                self._fast = event.calibration.coil_fast
            case Judged(id="operate_time", finding=Reading() as reading) if self._fast:
                captures = [one for one in reading.raw if isinstance(one, Capture)]
                if captures:
                    self.newest = _drawn(captures[-1], self._fast)


def _drawn(capture: Capture, fast: Channel) -> CoilPicture:
    step_s = capture.sample_ticks / TICKS_PER_S
    return CoilPicture(
        time_s=tuple(index * step_s for index in range(len(capture.samples))),
        current_a=tuple(fast.value(count) for count in capture.samples),
        edges=tuple(
            (edge.tick / TICKS_PER_S, "NO" if edge.contact is Contact.NO else "NC", edge.closed)
            for edge in capture.edges
        ),
    )
