"""Single keys from the terminal, without Enter, on POSIX and on Windows; nothing where there is no terminal.

Rule: the terminal is left as it was found, however the program ends.
"""

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress

WAIT_S = 0.1


@contextmanager
def pressed(take: Callable[[str], None]) -> Iterator[None]:
    """Within, `take` gets each key as it is pressed, in a thread of its own."""
    if not sys.stdin.isatty():
        yield
        return
    done = threading.Event()
    reading = threading.Thread(target=_read, args=(take, done), daemon=True)
    with single():
        reading.start()
        try:
            yield
        finally:
            done.set()
            reading.join(timeout=1.0)


def _read(take: Callable[[str], None], done: threading.Event) -> None:
    while not done.is_set():
        for key in waiting():
            take(key)


if sys.platform == "win32":
    import msvcrt
    import time

    def single() -> AbstractContextManager[None]:
        """Keys come one by one here anyway; those that were pressed before are dropped."""
        while msvcrt.kbhit():
            msvcrt.getwch()
        return nullcontext()

    def waiting() -> str:
        """Keys that wait, or none after a moment."""
        if not msvcrt.kbhit():
            time.sleep(WAIT_S)
            return ""
        key = msvcrt.getwch()
        if key in ("\x00", "\xe0"):  # an arrow or a function key: two codes, and none of ours
            msvcrt.getwch()
            return ""
        return key

else:
    import os
    import select
    import termios

    @contextmanager
    def single() -> Iterator[None]:
        """The terminal gives each key at once and shows none; Ctrl-C stays Ctrl-C. What was pressed before
        is dropped."""
        file = sys.stdin.fileno()
        before = termios.tcgetattr(file)
        now = termios.tcgetattr(file)
        now[3] &= ~(termios.ICANON | termios.ECHO)
        termios.tcsetattr(file, termios.TCSAFLUSH, now)
        try:
            yield
        finally:
            with suppress(termios.error):
                termios.tcsetattr(file, termios.TCSADRAIN, before)

    def waiting() -> str:
        """Keys that wait, or none after a moment; arrows and function keys are none of ours, Esc alone is."""
        file = sys.stdin.fileno()
        if not select.select([file], [], [], WAIT_S)[0]:
            return ""
        read = os.read(file, 32)
        return "" if read.startswith(b"\x1b") and len(read) > 1 else read.decode("utf-8", "ignore")
