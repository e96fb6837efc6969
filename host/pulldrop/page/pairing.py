"""Who may press buttons: a code read off the bench's terminal makes a screen a controller.

Rule: guessing never pays. After a few wrong codes nobody can pair for a while, and the code is a new one.
"""

import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

DIGITS = 6
WRONG_CODES = 5
"""Five guesses a minute at one of a million codes: once in four months of guessing day and night."""
LOCKED_S = 60.0
CONTROLLERS = 16


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


class Pairing:
    """The code of this start, and the keys of the screens that knew it. `on_code` is called with a new code."""

    def __init__(self, on_code: Callable[[str], None], clock: Callable[[], float] = time.monotonic) -> None:
        self._on_code, self._clock = on_code, clock
        self._keys: list[str] = []
        self._wrong = 0
        self._locked_until = clock()
        self.bench_key = secrets.token_urlsafe(16)
        self.code = _random_code()

    def offer(self, code: str) -> Paired:
        """A screen offers a code."""
        if self._clock() < self._locked_until:
            return Paired(PairingAnswer.LOCKED)
        if secrets.compare_digest(_plain(code), self.code.encode()):
            self._wrong = 0
            return Paired(PairingAnswer.PAIRED, self._new_key())
        self._wrong += 1
        if self._wrong >= WRONG_CODES:
            self._wrong = 0
            self._locked_until = self._clock() + LOCKED_S
            self.code = _random_code()
            self._on_code(self.code)
        return Paired(PairingAnswer.WRONG)

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
