"""Who may press buttons: a code read off the bench's terminal makes a screen a controller.

Rule: guessing never pays, and keeps nobody else out. After a few wrong codes an address can offer none for a while,
each time for longer, and after many from all together the code is a new one.
"""

import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

DIGITS = 6
WRONG_CODES, LOCKED_S, LOCKED_MOST_S = 5, 60.0, 3600.0
"""Wrong codes of an address until it is locked, for how long at first, and at most: 145 guesses on the first day, at
one of a million codes."""
WRONG_IN_ALL = 50
"""Wrong codes of all addresses after which the code is another, once a minute at most: a person must type it."""
ADDRESSES, CONTROLLERS = 1000, 16
"""Remembered at most; the oldest is forgotten."""


class PairingAnswer(StrEnum):
    """What becomes of a code."""

    PAIRED = "paired"
    WRONG = "wrong"
    LOCKED = "locked"


@dataclass(frozen=True, slots=True)
class Paired:
    """`key` goes into the screen's cookie and is empty unless `answer` is PAIRED."""

    answer: PairingAnswer
    key: str = ""


@dataclass(slots=True)
class _Guesser:
    """One address that offered a wrong code."""

    wrong: int = 0
    lock_s: float = LOCKED_S
    locked_until: float = 0.0


class Pairing:
    """The code of this start, and the keys of the screens that knew it. `on_code` is called with a new code."""

    def __init__(self, on_code: Callable[[str], None], clock: Callable[[], float] = time.monotonic) -> None:
        self._on_code, self._clock = on_code, clock
        self._keys: list[str] = []
        self._guessers: dict[str, _Guesser] = {}
        self._wrong, self._code_until = 0, clock()
        self.bench_key = secrets.token_urlsafe(16)
        self.code = _random_code()

    def offer(self, code: str, address: str) -> Paired:
        """A screen at an address offers a code."""
        guesser = self._guessers.get(address, _Guesser())
        if self._clock() < guesser.locked_until:
            return Paired(PairingAnswer.LOCKED)
        if secrets.compare_digest(_plain(code), self.code.encode()):
            self._guessers.pop(address, None)
            return Paired(PairingAnswer.PAIRED, self._new_key())
        self._count(guesser)
        self._guessers[address] = guesser
        if len(self._guessers) > ADDRESSES:
            self._guessers.pop(next(iter(self._guessers)))
        return Paired(PairingAnswer.WRONG)

    def _count(self, guesser: _Guesser) -> None:
        guesser.wrong += 1
        if guesser.wrong >= WRONG_CODES:
            guesser.wrong, guesser.locked_until = 0, self._clock() + guesser.lock_s
            guesser.lock_s = min(2 * guesser.lock_s, LOCKED_MOST_S)
        self._wrong += 1
        if self._wrong >= WRONG_IN_ALL and self._clock() >= self._code_until:
            self._wrong, self.code, self._code_until = 0, _random_code(), self._clock() + LOCKED_S
            self._on_code(self.code)

    def offer_bench_key(self, key: str) -> Paired:
        """The link that the terminal shows carries this key; it is too long to be guessed."""
        if secrets.compare_digest(key.encode(), self.bench_key.encode()):
            return Paired(PairingAnswer.PAIRED, self._new_key())
        return Paired(PairingAnswer.WRONG)

    def knows(self, key: str | None) -> bool:
        """True for the cookie of a controller."""
        return key is not None and any(secrets.compare_digest(key.encode(), known.encode()) for known in self._keys)

    def _new_key(self) -> str:
        """The oldest controller gives way when there are too many."""
        key = secrets.token_urlsafe(16)
        self._keys = [*self._keys, key][-CONTROLLERS:]
        return key


def _random_code() -> str:
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"


def _plain(code: str) -> bytes:
    """People read six digits in two groups, and type the gap."""
    return "".join(code.split()).encode()
