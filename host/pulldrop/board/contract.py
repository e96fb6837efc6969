"""The Board contract: typed requests in raw counts and ticks, the same for a real, emulated or virtual board.

Rule 1: counts in, counts out; volts are made above, with the calibration record.
Rule 2: every request that energises carries its own longest on-time, and the board keeps it.
Rule 3: a request that moves energy is never repeated; when its answer is lost, the run is over.
"""

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Self

from pulldrop.board.errors import Refused
from pulldrop.board.request_types import Analog, Drive, Follow, Load, Pulse, Scan, Stairs, Watch
from pulldrop.model.bench.identity import Identity
from pulldrop.model.raw import (
    Capture,
    CoilCounts,
    Contact,
    Followed,
    Landing,
    LeadCounts,
    PulseCounts,
    ScanCounts,
    ShuntWatch,
)
from pulldrop.wire.messages import Trip as Trip


@dataclass(frozen=True, slots=True)
class Status:
    """What the board is doing now. `contacts` are throws seen closed; `on` coil or load energised; `bus_silent`: no I2C
    part of a full board has answered since its start, so it refuses whatever moves energy ("bus"); `restless`: throws
    whose pin goes to and fro within 0.2 ms; `fed`: throws with a current to show whether they are closed, or else they
    read open; `supplied`: the lamp is lit, so the coil supply follows its DAC."""

    trip: Trip
    on: bool
    contacts: Contact
    emergency_stop: bool
    uptime_ms: int
    bad_frames: int
    bus_silent: bool = False
    restless: Contact = Contact.NONE
    fed: Contact = Contact.NONE
    supplied: bool = False


class Board(ABC):
    """One bench. Use as a context manager: leaving it, by any way, turns everything off.

    Every method may raise `BoardError` (see errors.py): Tripped, Refused, BoardLost, BoardReset, NoAnswer.
    """

    identity: Identity

    @abstractmethod
    def status(self) -> Status:
        """Ask for the state; also renews the lease."""

    @abstractmethod
    def off(self) -> None:
        """Everything off, at once."""

    @abstractmethod
    def acknowledge(self) -> None:
        """Clear a latched trip, after its cause is understood."""

    @abstractmethod
    def hold_coil(self, drive: Drive) -> None:
        """Set the coil and leave it so, until the next order or until `on_ms` is over, when a coil that is on trips.

        Only a load without the coil stops that time, which is for what else is held: clamp, dry sources, coil supply.
        """

    @abstractmethod
    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        """Set the DAC, let it settle, switch the coil to `drive.on`, and log edges and coil current.

        window_ms: 1..200; divider: samples every `divider` * 50 us, at most 360 samples. `low_side`: samples of the
        coil's low end in its stead, where a coil that is switched off shows its spike; refused ("argument") with
        `drive.on`, because the guard needs the current.
        """

    @abstractmethod
    def staircase(self, stairs: Stairs) -> Landing:
        """Walk the coil voltage until the contacts come to the wanted state."""

    @abstractmethod
    def follow_coil(self, follow: Follow) -> Followed:
        """Read the volts of a coil that is on, again and again, while a hand turns them. Refused ("stopped") when it is
        off.
        """

    @abstractmethod
    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        """Load the throw while the coil stays as it is; samples 1..12."""

    @abstractmethod
    def hot_step(self, drive: Drive, load: Load, window_ms: int, divider: int) -> tuple[Capture, PulseCounts]:
        """As `step_coil`, with a load on one throw from 1 ms before the step to the end of the window.

        A make under load: with `drive.on` NO closes (and NC breaks), without it NC. At the end of the window one pair
        of drop and shunt shows what flowed; then the load goes off, and the coil stays as it was stepped. It wears the
        contacts. Refused: "argument" out of range, without a branch, with two throws; "duty" as for a pulse; "stopped"
        when `limit_ms` ended the load before its pair was read, 5 ms after the window. A trip turns everything off.
        """

    @abstractmethod
    def watch_load(self, watch: Watch) -> ShuntWatch:
        """Drive as said with the dry sources off, and watch the load shunt until the current is cut.

        Refused: "argument" for any other load together with a throw; "duty" as for a pulse.
        """

    @abstractmethod
    def sense_coil(self) -> CoilCounts:
        """One fresh averaged conversion of coil supply volts and current (about 18 ms)."""

    @abstractmethod
    def sense_analog(self, channel: Analog) -> int:
        """Sum of 16 conversions of one slow channel."""

    @abstractmethod
    def scan(self, scan: Scan) -> ScanCounts:
        """One look at two or three terminals at a few mA; everything of it is off afterwards (about 30 to 90 ms).

        Refused ("energised") while the coil or a load is on. The dry sources are turned off first.
        """

    def sense_ground(self) -> int:
        """Sum of 16 conversions of the vehicle lead's clip X5 on the chip's own reference of 1.1 V (about 50 ms).

        Refused ("build") by all builds but a bare one; ends a watch.
        """
        raise _no_lead()

    def watch_lead(self) -> None:
        """From now on read clips X1 to X4, until `off`, the end of the lease, or anything else that converts.

        Refused as `sense_ground`. Nothing is driven.
        """
        raise _no_lead()

    def read_lead(self, first: int) -> LeadCounts:
        """Readings of the watch from number `first` on, a few at a time; those before are forgotten, and what was not
        asked for within 0.15 s is lost, which their number shows. Refused ("stopped") where nothing is watched.
        """
        raise _no_lead()

    def notes(self) -> bytes:
        """All that the host left in the board's memory, 0xff where nothing was written; empty without a memory."""
        return b""

    def keep_notes(self, notes: bytes) -> None:
        """Leave this in the board's memory, from its beginning; what is the same is not written again.

        Only where `notes` gives something. Refused: "energised" while anything is on, "argument" when it is too long.
        """
        raise NotImplementedError("a board without a memory keeps no notes")

    @abstractmethod
    def wait(self, seconds: float) -> None:
        """Let bench time pass, the lease renewed."""

    @abstractmethod
    def elapsed(self) -> float:
        """Bench time in seconds since the board was opened; simulated time on a virtual board."""

    @abstractmethod
    def reopen(self) -> None:
        """Open the line again after it broke, everything off. NoBoard while nothing answers, WrongBoard for another.

        Nothing that was going on goes on.
        """

    @abstractmethod
    def close(self) -> None:
        """Everything off, and let go of the line. Never raises."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _no_lead() -> Refused:
    return Refused("build", "This build of the board has no part for it. See hardware/guide.md.")
