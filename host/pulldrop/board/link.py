"""The serial line to one board: requests out, the answers that belong to them in; knows nothing of relays.

Rule 1: one thread; nothing is read or sent but inside a call.
Rule 2: an answer counts only with the sequence and the id of a request that waits for it; a late or damaged one
is dropped.
Rule 3: orders have sequence numbers of their own, and so have questions; both go on from where the board is. No copy
of an old order runs, and none of an old question renews the lease.
Rule 4: only a request that moves no energy and writes no EEPROM is sent twice, and twice at most.
"""

from collections import deque
from collections.abc import Callable, Sequence
from typing import Protocol

from pulldrop.board.errors import BoardLost, NoAnswer
from pulldrop.wire import codec
from pulldrop.wire.codec import Answer, Malformed
from pulldrop.wire.frames import Frames, frame
from pulldrop.wire.messages import ORDERS_AHEAD, QUESTIONS_AHEAD, Message, Result

FIRST_ANSWER_S = 0.2
LAST_ANSWER_S = 2.0
"""How long an answer may take, from the first sending and from the second; their sum where it is sent only once.

A whole exchange takes 3 ms on the wire and a USB bridge adds 16 ms at most; the first is short enough for the second
sending to come before the lease of 500 ms ends, the second long enough for a computer that starves an emulated board of
time. A silent board is off by its lease long before that."""


TOGETHER = 5
"""Requests on their way at a time: 10 bytes each at most, and the board has room for 64."""


class Port(Protocol):
    """What is used of pyserial's Serial; `read` returns fewer bytes, or none, after a short timeout."""

    @property
    def in_waiting(self) -> int: ...
    def read(self, size: int, /) -> bytes: ...
    def write(self, data: bytes, /) -> int | None: ...
    def close(self) -> None: ...


class Link:
    """Frames and sequence numbers over one port. Every method may raise BoardLost."""

    def __init__(self, port: Port, name: str, clock: Callable[[], float]) -> None:
        self.name = name
        self.heard = False  # anything at all, noise too
        self._port = port
        self._clock = clock
        self._frames = Frames()
        self._malformed = 0
        self._answers: deque[Answer] = deque()
        self._sequence = 0
        self._ordered = self._answered = 0

    @property
    def damaged(self) -> int:
        """Frames from the board that were dropped since the port was opened."""
        return self._frames.damaged + self._malformed

    def send(self, message: Message, values: Sequence[int | Sequence[int]] = ()) -> int:
        """Send one request; returns its sequence number. Raises Malformed before anything is sent."""
        sequence = ((self._ordered if message.order else self._sequence) + 1) % 256
        data = frame(codec.request(sequence, message, values))
        if message.order:
            self._ordered = sequence
        else:
            self._sequence = sequence
        try:
            self._port.write(data)
        except OSError as error:
            raise self._lost(error) from error
        return sequence

    def begin(self, newest: int, question: int) -> None:
        """Go on behind the newest order and question that the board heard.

        Orders leave numbers out: those of orders that another host sent and the line may still bring. Until the first
        is answered, which order the board did last is that host's business.
        """
        self._ordered = (newest + ORDERS_AHEAD // 2) % 256
        self._answered = (self._ordered + 1) % 256
        if (self._sequence - question) % 256 >= QUESTIONS_AHEAD:  # else a greeting sent since has a newer number
            self._sequence = question

    def expects(self, last: int) -> bool:
        """Whether the board may truly say that this was the last order it heard: answered last, or sent since."""
        return (last - self._answered) % 256 <= (self._ordered - self._answered) % 256

    def receive(self, wanted: Callable[[Answer], bool], until: float) -> Answer | None:
        """The first answer that is wanted, or None when the clock reaches `until`; others are dropped."""
        while True:
            while self._answers:
                answer = self._answers.popleft()
                if wanted(answer):
                    if answer.message.order:
                        self._answered = answer.sequence
                    return answer
            if self._clock() >= until:
                return None
            self._read()

    def ask(self, message: Message, values: Sequence[int | Sequence[int]] = (), again: bool = True) -> Answer:
        """Send a request that moves no energy and wait for its answer, sending it `again` once when none comes."""
        if message.energy:
            raise ValueError(f"{message.name} moves energy and must not be sent again")
        sent: list[int] = []

        def wanted(answer: Answer) -> bool:
            if answer.message is not message or answer.sequence not in sent or answer.result is Result.REPEAT:
                return False  # a repeat: the line said it twice
            return answer.sequence == sent[0] or answer.result is not Result.BUSY  # busy with the first sending

        for patience in (FIRST_ANSWER_S, LAST_ANSWER_S) if again else (FIRST_ANSWER_S + LAST_ANSWER_S,):
            sent.append(self.send(message, values))
            answer = self.receive(wanted, self._clock() + patience)
            if answer is not None:
                return answer
        raise NoAnswer(
            f"The board at {self.name} did not answer {message.name}, asked {'twice' if again else 'once'}. "
            "Check the USB cable and the board's supply, then run again."
        )

    def ask_many(self, message: Message, many: Sequence[Sequence[int]]) -> list[Answer]:
        """Answers to requests that move no energy and are answered at once, in order; a lost one is asked for again.

        Several are on their way at a time, for behind a USB bridge every wait for an answer may take 16 ms.
        """
        answers: list[Answer] = []
        for at in range(0, len(many), TOGETHER):
            some = many[at : at + TOGETHER]
            sent = [self.send(message, values) for values in some]
            came: dict[int, Answer] = {}

            def wanted(answer: Answer, sent: list[int] = sent) -> bool:
                return answer.message is message and answer.sequence in sent

            while len(came) < len(sent):
                answer = self.receive(wanted, self._clock() + FIRST_ANSWER_S)
                if answer is None:
                    break
                came[answer.sequence] = answer
            answers += [
                came[sequence] if sequence in came else self.ask(message, values)
                for sequence, values in zip(sent, some, strict=True)
            ]
        return answers

    def close(self) -> None:
        """Let go of the port, whatever state it is in."""
        try:
            self._port.close()
        except OSError:
            return  # an unplugged port has nothing left to close

    def _read(self) -> None:
        try:
            data = self._port.read(max(1, self._port.in_waiting))
        except OSError as error:
            raise self._lost(error) from error
        self.heard = self.heard or bool(data)
        for content in self._frames.feed(data):
            try:
                self._answers.append(codec.answer(content))
            except Malformed:
                self._malformed += 1

    def _lost(self, error: OSError) -> BoardLost:
        why = error.strerror or "unplugged, or another program reads there too"  # what pyserial says is for programmers
        return BoardLost(
            f"The line to the board at {self.name} broke ({why}). The board turns everything off by itself. "
            "Plug it in again and run again."
        )
