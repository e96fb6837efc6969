"""A serial line that does wrong, between SerialBoard and the emulated board, in one thread and in simulated time.

Rule: time passes only here, and whatever is wrong begins with a request's number; so every run can be run again.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from faulty_line.machine import FaultyMachine

from pulldrop.wire.frames import Frames
from pulldrop.wire.messages import BEGIN

READ_S, SLICE_S, LEAST_S = 0.01, 0.01, 1e-6
"""How long a read waits for a byte; in what pieces time passes while nobody reads."""
HUNG_S = 120.0
"""Of simulated time in one run, from which it counts as hanging: the longest undisturbed run takes 6 s."""
Bytes = Callable[[bytes], bytes]


class Hung(BaseException):
    """The host waits without end; of a kind that no code of the host catches."""


class HostDied(BaseException):
    """The host's program is killed where it is; it says nothing more."""


@dataclass
class FaultyPort:
    """What pyserial's Serial is to `Link`. `begins`: what to begin at which request, counted from 1.

    `began_s`: when the first of it began; `over_s`: since when nothing may be on, but for the lease, until a host
    begins with the board as it is then, its stop closed; `said_s`: when the host's last whole frame is at the board,
    where the lease begins.
    """

    machine: FaultyMachine
    begins: dict[int, list[Callable[["FaultyPort"], None]]] = field(default_factory=dict)
    requests: int = 0
    began_s: float | None = None
    to_board: list[Bytes] = field(default_factory=list)
    to_host: list[Bytes] = field(default_factory=list)
    later: list[tuple[float, Callable[[], None]]] = field(default_factory=list)
    over_s: float | None = None
    said_s: float = 0.0
    lost: OSError | None = None
    died: bool = False
    damaged: int = 0
    _waiting: bytes = b""

    @property
    def in_waiting(self) -> int:
        """Bytes that can be read at once."""
        return len(self._waiting)

    def write(self, data: bytes) -> int:
        """One request of the host."""
        self._alive()
        self.requests += 1
        for begin in self.begins.get(self.requests, []):
            self.began_s = self.machine.time_s if self.began_s is None else self.began_s
            begin(self)
        self._alive()
        said = self._changed(self.to_board, data)
        self.machine.receive(said)
        for content in Frames().feed(said):
            self.said_s = self.machine.arrives_s
            if content[1] == BEGIN.id and not self.machine.plant.stop_open:  # type: ignore[attr-defined]
                self.over_s = None
        return len(data)

    def read(self, size: int, /) -> bytes:
        """Bytes of the board, or none after READ_S."""
        self._alive()
        until = self.machine.time_s + READ_S
        while not self._waiting and self.machine.time_s < until - LEAST_S:
            self._pass(self.machine.listen, until)
        read, self._waiting = self._waiting[:size], self._waiting[size:]
        return read

    def close(self) -> None:
        """Nothing is held."""

    def clock(self) -> float:
        """Seconds of the simulation."""
        return self.machine.time_s

    def pass_time(self, seconds: float) -> None:
        """Let the bench go on."""
        until = self.machine.time_s + seconds
        while self.machine.time_s < until - LEAST_S:
            self._pass(self.machine.run, until)

    def _pass(self, run: Callable[[float], None], until: float) -> None:
        """Let it go on until then, until something is due, or for a slice."""
        due = min(until, min((at for at, _ in self.later), default=until)) - self.machine.time_s
        run(max(min(due, SLICE_S), LEAST_S))
        self._do_later()
        self._waiting += self._changed(self.to_host, self.machine.sent())
        if self.machine.time_s > HUNG_S:
            raise Hung

    def die(self) -> None:
        """The host's program is killed now; what it has said still arrives."""
        self.died = True
        self.end()

    def unplug(self) -> None:
        """The host finds no port any more."""
        self.lost = OSError(5, "Input/output error")
        self.end()

    def end(self) -> None:
        """Whatever ends the run happens now."""
        if self.over_s is None:
            self.over_s = max(self.machine.time_s, self.said_s if self.died or self.lost else 0.0)

    def mend(self) -> None:
        """Line, bus, pins and stop as they should be; plugged in again, nobody dead."""
        self.to_board, self.to_host, self.later, self._waiting = [], [], [], b""
        self.lost, self.died, self.begins = None, False, {}
        self.machine.mend()

    def _changed(self, changes: list[Bytes], data: bytes) -> bytes:
        changed = data
        for change in list(changes) if data else ():
            changed = change(changed)
        self.damaged += changed != data
        return changed

    def hear(self, data: bytes) -> None:
        """Bytes that the host finds, wherever they come from."""
        self._waiting += data

    def after(self, seconds: float, do: Callable[[], None]) -> None:
        """Do something when so much time has passed."""
        self.later.append((self.machine.time_s + seconds, do))

    def _do_later(self) -> None:
        due = [do for at, do in self.later if at <= self.machine.time_s]
        self.later = [(at, do) for at, do in self.later if at > self.machine.time_s]
        for do in due:
            do()

    def _alive(self) -> None:
        if self.died:
            raise HostDied
        if self.lost:
            raise self.lost
