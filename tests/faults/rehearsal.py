"""A fake board that replays what the virtual board once answered, and makes trouble at the n-th request.

The measuring is deterministic, so the same answers lead to the same requests; and a replay costs no physics.
"""

from collections.abc import Callable
from typing import Any

from pulldrop.board.contract import Board, Status
from pulldrop.board.request_types import Analog, Drive, Follow, Load, Pulse, Scan, Stairs, Watch
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.relay import Relay
from pulldrop.model.raw import Capture, CoilCounts, Followed, Landing, PulseCounts, ScanCounts, ShuntWatch
from pulldrop.model.run.plan import Plan
from pulldrop.store import Store

ENERGISING = {"hold_coil", "step_coil", "staircase", "load_pulse", "hot_step"}
AROUND = 4
"""A request that comes between the same requests, so many on either side, is sent again by the same code."""


class Recorder(Board):
    """Passes everything on to a real implementation and keeps the answers."""

    def __init__(self, inner: Board) -> None:
        self.inner, self.identity = inner, inner.identity
        self.tape: list[tuple[str, Any]] = []

    def _pass_on(self, name: str, *arguments: Any) -> Any:
        answer = getattr(self.inner, name)(*arguments)
        self.tape.append((name, answer))
        return answer

    def status(self) -> Status:
        return self._pass_on("status")

    def off(self) -> None:
        self._pass_on("off")

    def acknowledge(self) -> None:
        self._pass_on("acknowledge")

    def hold_coil(self, drive: Drive) -> None:
        self._pass_on("hold_coil", drive)

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        return self._pass_on("step_coil", drive, window_ms, divider, low_side)

    def staircase(self, stairs: Stairs) -> Landing:
        return self._pass_on("staircase", stairs)

    def follow_coil(self, follow: Follow) -> Followed:
        return self._pass_on("follow_coil", follow)

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        return self._pass_on("load_pulse", pulse)

    def hot_step(self, drive: Drive, load: Load, window_ms: int, divider: int) -> tuple[Capture, PulseCounts]:
        return self._pass_on("hot_step", drive, load, window_ms, divider)

    def watch_load(self, watch: Watch) -> ShuntWatch:
        return self._pass_on("watch_load", watch)

    def sense_coil(self) -> CoilCounts:
        return self._pass_on("sense_coil")

    def sense_analog(self, channel: Analog) -> int:
        return self._pass_on("sense_analog", channel)

    def scan(self, scan: Scan) -> ScanCounts:
        return self._pass_on("scan", scan)

    def wait(self, seconds: float) -> None:
        self._pass_on("wait", seconds)

    def elapsed(self) -> float:
        return self.inner.elapsed()

    def reopen(self) -> None:
        self.inner.reopen()

    def close(self) -> None:
        self.inner.close()


class Replay(Recorder):
    """Gives the recorded answers in order. `trouble(n)` runs before request n (from 1) and may raise.

    `on` is true from the first energising request until `off` succeeds; `asked` counts requests.
    """

    def __init__(self, tape: list[tuple[str, Any]], identity: Any, trouble: Callable[[int, str], None]) -> None:
        self.identity = identity
        self._tape, self._trouble = list(tape), trouble
        self.asked = 0
        self.on = False
        self.offs = 0

    def _pass_on(self, name: str, *arguments: Any) -> Any:
        self.asked += 1
        self.on = self.on or name in ENERGISING  # the board may have obeyed before the trouble came
        self._trouble(self.asked, name)
        if name == "off":
            self.on, self.offs = False, self.offs + 1
        if self.asked <= len(self._tape):
            recorded, answer = self._tape[self.asked - 1]
            if recorded == name:
                return answer
        assert name == "off", f"request {self.asked} was {name}, which the rehearsal did not have"
        return None

    def elapsed(self) -> float:
        return 0.0

    def close(self) -> None:
        self.on = False


class Rehearsal:
    """One run of a sound relay from stock, recorded once: quick, or another plan."""

    def __init__(self, at: Plan | None = None) -> None:
        part = specimens.find("good-12v-changeover")
        self.plan = at or plan_for_specimen(part.specimen)
        recorder = Recorder(VirtualBoard(part.specimen, seed=1))
        with Store.open(":memory:") as store:
            self.record = run_one(self.task, recorder, store, ignore)
        self.identity, self.tape = recorder.identity, recorder.tape

    @property
    def task(self) -> Task:
        return Task(plan=self.plan, part=Relay(id="", form=self.plan.form))

    def requests(self) -> list[int]:
        """Numbers of the undisturbed run's requests, but for the third make and later, whose requests come between the
        same others as one before: each number that is tried costs a whole run."""
        names = [name for name, _ in self.tape]
        places = {tuple(names[max(i - AROUND, 0) : i + AROUND + 1]): i for i in reversed(range(len(names)))}
        return sorted(i + 1 for i in places.values())

    def board(self, trouble: Callable[[int, str], None]) -> Replay:
        return Replay(self.tape, self.identity, trouble)


def ignore(_event: object) -> None:
    """Shows nothing."""
