"""Requests to one board, each done once or refused with its reason: lease, trips, restarts, a busy board; no readings.

Rule 1: no thread. The lease is renewed by the calls themselves: whoever has the coil on must call something, `wait`
for example, at least every 500 ms, or the board turns everything off. That is meant: a host that hangs is a host lost.
Rule 2: a request that moves energy is begun once. While its answer is awaited, `status` goes out every 100 ms.
Rule 3: bench time is the board's own clock: an emulated board on a busy computer lags behind the computer's.
Rule 4: nothing that was measured is believed before the board says that it neither tripped nor restarted meanwhile, and
that the last order it heard is the last one of this host: a late `all_off` is done, whoever sent it and when.
"""

from collections.abc import Callable, Sequence

from pulldrop.board.contract import Trip
from pulldrop.board.errors import TRIPS, BoardError, BoardReset, NoAnswer, NoBoard, Refused, Tripped, WrongBoard
from pulldrop.board.link import Link
from pulldrop.wire import messages as wire
from pulldrop.wire.codec import Answer, Malformed
from pulldrop.wire.messages import Fault, Message, Result

GREETING_S = 3.0
GREETING_AGAIN_S = 0.25
"""Opening the port of a Nano pulls its reset through DTR; its boot loader then listens for up to about 2 s."""

SLOW_S, PACKET = 0.008, 62
"""A round trip from which on a USB bridge is taken to hold answers back, and the packet that it waits for."""
JUST_S = 0.0005
"""A status that came no longer ago needs not be asked for again: behind a USB bridge that costs up to 16 ms."""
RENEW_S = 0.1
SILENCE_S = 3.0
OVERTIME_MS = 1000
"""How often the lease is renewed; how long a board at work may be silent (a starved emulator is); how much longer than
due it may work."""

REFUSALS = {
    Result.BUSY: "it is still at work on another request. Wait for that one, or turn everything off.",
    Result.ARGUMENT: "a value is out of its range. Correct the protocol.",
    Result.DUTY: "the load would be on for more than 10 % of the last 10 s, or half of the last second. Wait longer.",
    Result.BUS: "one of its I2C parts did not answer in time. Run `pulldrop board self-test`; check its wiring.",
    Result.STOPPED: "it was ended before it was done, by all_off or by its own time limit. Run again.",
    Result.BUILD: "this build of the board has no part for it. See hardware/guide.md for what each build can do.",
    Result.ENERGISED: "the coil or a load is on. Turn everything off first.",
    Result.REPEAT: "it has taken this request before, and does it once. Run again.",
    Result.NOT_BEGUN: "it restarted, and nobody has begun with it since. Run again.",
    Result.UNKNOWN: "it does not know the request. Run `pulldrop board flash`.",
}
TWICE = (
    "it was idle, and was then at work on another request: the line brings it everything twice, or another program uses"
    " its port. Change the USB cable or hub, close the other program, and run again."
)


class Requests:
    """Over one link to one board; every method may raise what is in `errors`."""

    def __init__(self, link: Link, clock: Callable[[], float], sleep: Callable[[float], None]) -> None:
        self._link = link
        self._clock = clock
        self._sleep = sleep
        self._start = 0
        self.uptime_ms = 0
        self._settled_s = -1.0
        self.round_trip_s = 0.0

    def greet(self) -> Answer:
        """The first answer of a board that may still be starting. Raises NoBoard or WrongBoard."""
        until = self._clock() + GREETING_S
        while self._clock() < until:
            self._link.send(wire.GREET)
            answer = self._link.receive(lambda answer: answer.message is wire.GREET, self._clock() + GREETING_AGAIN_S)
            if answer is not None and answer.result is Result.DONE:
                return answer
        where = self._link.name
        if self._link.heard:
            raise WrongBoard(
                f"Something at {where} sends bytes, but does not answer as a pulldrop board within {GREETING_S:.0f} s. "
                "Choose another port, or put the firmware on it with `pulldrop board flash`."
            )
        raise NoBoard(
            f"Nothing at {where} answered within {GREETING_S:.0f} s. "
            "Check the USB cable and the supply, or put the firmware on it with `pulldrop board flash`."
        )

    def begin(self, greeting: Answer) -> None:
        """Every later status must be of the start that greeted, and orders go on from there, with everything off.

        A board that restarted just now refuses to begin with the number that it told, and the next status shows it; so
        it does where the coil supply does not go off.
        """
        self._start = greeting.number("start")
        self._link.begin(greeting.number("order"), greeting.number("question"))
        self._link.ask(wire.BEGIN, (self._start,))
        self._link.ask(wire.ALL_OFF)
        self._quicken()

    def _quicken(self) -> None:
        """Measure the line; where it is slow, have the board fill the packets that its USB bridge waits for."""
        if self._round_trip() > SLOW_S and min(self._round_trip() for _ in range(2)) > SLOW_S:
            self._link.ask(wire.FILL_PACKETS, (PACKET,))
            self._round_trip()

    def _round_trip(self) -> float:
        """Seconds from a status asked for to its answer."""
        began = self._clock()
        self.as_left(self._link.ask(wire.STATUS))
        self.round_trip_s = self._clock() - began
        return self.round_trip_s

    def ask(self, message: Message, values: Sequence[int] = (), again: bool = True) -> Answer:
        """Send a request that moves no energy, `again` once when no answer comes."""
        return self._done(lambda: self._link.ask(message, values, again))

    def work(self, message: Message, values: Sequence[int], due_ms: int) -> Answer:
        """Send a request that moves energy, and keep the lease until its answer comes."""

        def once() -> Answer:
            answer = self._await(message, self._link.send(message, values), due_ms + OVERTIME_MS)
            if answer is None:
                raise self._given_up(message)
            return answer

        done = self._done(once)
        self.settled()
        return done

    def patiently(self, message: Message, values: Sequence[int]) -> Answer:
        """Ask for work that moves no energy but takes its time; once more when its answer was lost."""

        def twice() -> Answer:
            for _ in range(2):
                answer = self._await(message, self._link.send(message, values), OVERTIME_MS)
                if answer is not None:
                    return answer
            raise NoAnswer(
                f"The board at {self._link.name} did not answer {message.name}, asked twice. "
                "Check the USB cable and the board's supply, then run again."
            )

        return self._done(twice)

    def wait(self, seconds: float) -> None:
        """Let the board's own clock go on by so much, the lease kept."""
        if self._clock() - self._settled_s > JUST_S:
            self.settled()
        until_ms = self.uptime_ms + seconds * 1000
        while (left_ms := until_ms - self.uptime_ms) > 0:
            self._sleep(min(left_ms / 1000, RENEW_S))
            self.settled()

    def _await(self, message: Message, sequence: int, most_ms: int) -> Answer | None:
        """The answer; None when the board is idle, silent or overdue without one.

        Overdue by the board's own clock, so that a slow emulator is not taken for a hanging board.
        """

        def wanted(answer: Answer) -> bool:
            asked = (answer.message, answer.sequence) == (message, sequence)
            if answer.message is wire.STATUS:
                return answer.sequence in renewed
            return asked and answer.result is not Result.REPEAT  # the line said it twice

        renewed: set[int] = set()
        idle, began_ms, heard = 0, None, self._clock()
        while self._clock() - heard < SILENCE_S:
            answer = self._link.receive(wanted, self._clock() + RENEW_S)
            if answer is None:
                renewed.add(self._link.send(wire.STATUS))
                continue
            if answer.message is not wire.STATUS:
                return answer
            heard = self._clock()
            self._raise_trouble(answer)
            began_ms = self.uptime_ms if began_ms is None else began_ms
            idle = 0 if answer.number("work") == message.id else idle + 1
            if idle == 2 or self.uptime_ms - began_ms > most_ms:
                return None  # its answer was sent before the second idle status, so it is lost
        return None

    def _given_up(self, message: Message) -> NoAnswer:
        try:
            self._link.ask(wire.ALL_OFF)
            state = "The board was ordered to turn everything off, and confirms it."
        except BoardError:
            state = "It does not answer to all_off either; its lease turns everything off within 500 ms."
        return NoAnswer(
            f"The answer to {message.name} did not come from {self._link.name}. It moves energy and is not repeated, "
            f"so this run is over. {state} Check the cable, then run again."
        )

    def read(self, message: Message, name: str, count: int, log: int) -> tuple[int, ...]:
        """Everything that the step with this log stored, as many in one answer as fit."""
        room = next(field.array for field in message.answer if field.name == name)
        read: list[int] = []
        for asked in self._link.ask_many(message, [(first,) for first in range(0, count, room)]):
            answer = self._done(lambda asked=asked: asked)  # type: ignore[misc]  # bound in this turn
            if answer.number("log") != log:
                raise BoardError(
                    f"The board at {self._link.name} gave {name} of another step (log {answer.number('log')}, "
                    f"{log} was asked for). Nothing else may use its port; run again."
                )
            read += answer.numbers(name)
        if len(read) < count:
            raise NoAnswer(
                f"The board at {self._link.name} stored {count} {name} and gave only {len(read)}. Run again."
            )
        return tuple(read[:count])

    def _done(self, request: Callable[[], Answer]) -> Answer:
        """The answer to a request that the board has done; raises what came instead.

        A reading that was asked for twice may still be at work when the first answer is here. What the board then
        refuses as busy it has not begun, so it is sent again when the board is idle, work that moves energy too.
        """
        again = False
        try:
            answer = request()
            if answer.result is Result.BUSY and (again := self._idle()):
                answer = request()
        except Malformed as error:
            raise Refused("argument", f"Not sent: {error}. {REFUSALS[Result.ARGUMENT]}") from error
        if answer.result is Result.DONE:
            return answer
        if answer.result in (Result.TRIPPED, Result.STOPPED, Result.NOT_BEGUN):
            self.settled()  # a trip or a restart is reported as what it is
        word = answer.result.name.lower()
        reason = REFUSALS.get(answer.result, "it says that a trip is latched, and knows of none. Run again.")
        if answer.result is Result.BUSY and again:
            reason = TWICE
        raise Refused(word, f"The board at {self._link.name} refused {answer.message.name}: {reason}")

    def _idle(self) -> bool:
        """Whether the board comes to rest within the time that a reading may take, by its own clock."""
        until_ms = self.uptime_ms + OVERTIME_MS
        while self.uptime_ms < until_ms:
            status = self._link.ask(wire.STATUS)
            self._raise_trouble(status)
            if status.number("work") == 0:
                return True
            self._sleep(0.01)
        return False

    def settled(self) -> None:
        """Renew the lease, and raise what happened since."""
        self._raise_trouble(self._link.ask(wire.STATUS))

    def _raise_trouble(self, status: Answer) -> None:
        self.as_left(status)
        trip = trip_of(status.number("trip"))
        if trip is not Trip.NONE:
            raise Tripped(trip, f"The board at {self._link.name} turned everything off: {TRIPS[trip]}")
        if status.number("faults") & Fault.COIL_SUPPLY:
            raise Refused(
                "bus",
                f"The coil supply of the board at {self._link.name} does not obey: its converter (MCP4725) does not "
                "give back what it was sent, so its volts are unknown. Unplug the supplies and check its wires.",
            )
        if status.number("faults") & Fault.SCAN:
            raise Refused(
                "bus",
                f"The scan of the board at {self._link.name} does not go off: its port expander (MCP23017) does not "
                "give back what it was sent, so 5 V may stand at a terminal. Unplug the board and check its wires.",
            )

    def as_left(self, status: Answer) -> None:
        """Take in that the board is as this host left it.

        Raises BoardReset when it says another start number than at the greeting, or its clock went back, and
        BoardError when the last order it heard is none of those sent last.
        """
        start, uptime_ms = status.number("start"), status.number("uptime_ms")
        if start != self._start or uptime_ms < self.uptime_ms:
            raise BoardReset(
                f"The board at {self._link.name} restarted during the run (start {start} at {uptime_ms} ms, was "
                f"{self._start} at {self.uptime_ms} ms); everything is off. "
                "Look at its supply and the USB cable, then run again."
            )
        self.uptime_ms, self._settled_s = uptime_ms, self._clock()
        last = status.number("order")
        if not self._link.expects(last):
            raise BoardError(
                f"The board at {self._link.name} did something other than its last order: the order it heard last is "
                f"number {last}, an old one or another program's, so its outputs are not what this run set. "
                "Close what else uses the port, change the USB cable or hub, and run again."
            )


def trip_of(code: int) -> Trip:
    try:
        return Trip(code)
    except ValueError:
        raise BoardError(f"The board reports a trip {code} that the schema does not have. Flash it again.") from None
