"""One key or one line from a person at the terminal, or that nobody answers.

Rule: Esc closes a prompt, and it closes by itself after a while; what was typed before it was shown does not count.
"""

import sys
import threading
import time
from collections.abc import Callable
from queue import Empty, SimpleQueue

from rich.console import Console

from pulldrop.cli.ask import keys
from pulldrop.cli.input_error import InputError

WAIT_S, HELD_S = 600.0, 120.0
"""A prompt closes after so long without a key; a bench that is held energised is let go sooner."""
KEEP_S = 0.25
"""The board's lease is 500 ms."""
GO, ESC, ERASE, ENTER = (" ", "\r", "\n"), "\x1b", ("\x7f", "\b"), ("\r", "\n")


class Unanswered(InputError):
    """Esc was pressed, nobody answered in time, or the input ended."""

    def __init__(self, why: str) -> None:
        super().__init__(f"{why}; nothing was kept. Begin again.")


def key(out: Console, choices: dict[str, str]) -> str:
    """The one of `choices` that was pressed, " " by Enter too. Raises Unanswered.

    choices: what each key does, by key. Where no terminal is, a line begins with the key; an empty one is " ".
    """
    names = "   ".join(f"{'Space' if one == ' ' else one}: {what}" for one, what in choices.items())
    out.print(f"  {names}   Esc: leave", style="bold")
    if not sys.stdin.isatty():
        while (said := (_piped(WAIT_S, None).strip().lower() or " ")[0]) not in choices:
            out.print("  That is no choice.", style="bold")
        return said
    with keys.single():
        until = time.monotonic() + WAIT_S
        while True:
            for one in _next(until):
                said = " " if one in GO else one.lower()
                if said in choices:
                    return said


def yes(out: Console, text: str) -> bool:
    """Whether a person says yes; not where nobody answers."""
    out.print(text)
    try:
        return key(out, {"y": "yes", "n": "no"}) == "y"
    except Unanswered:
        return False


def line(out: Console, prompt: str, keep: Callable[[], None] | None = None) -> str:
    """What is typed until Enter. Raises Unanswered.

    keep: called again and again meanwhile, since a bench is held energised; then it closes sooner.
    """
    out.print(f"{prompt}  (Esc: leave) ", end="")
    wait_s = HELD_S if keep else WAIT_S
    return _typed(out, wait_s, keep) if sys.stdin.isatty() else _piped(wait_s, keep)


def _typed(out: Console, wait_s: float, keep: Callable[[], None] | None) -> str:
    typed = ""
    with keys.single():
        until = time.monotonic() + wait_s
        while True:
            if keep:
                keep()
            for one in _next(until):
                if one in ENTER:
                    out.print()
                    return typed
                typed = typed[:-1] if one in ERASE else typed + one if one.isprintable() else typed
                out.file.write("\b \b" if one in ERASE else one if one.isprintable() else "")
                out.file.flush()
                until = time.monotonic() + wait_s


def _next(until: float) -> str:
    """Keys that wait, or none after a moment."""
    read = keys.waiting()
    if ESC in read:
        raise Unanswered("it was left by Esc")
    if not read and time.monotonic() > until:
        raise Unanswered("nobody answered")
    return read


def _piped(wait_s: float, keep: Callable[[], None] | None) -> str:
    """A line of input that is no terminal, read beside, while `keep` is called again and again."""
    lines: SimpleQueue[str] = SimpleQueue()
    threading.Thread(target=lambda: lines.put(sys.stdin.readline()), daemon=True).start()
    until = time.monotonic() + wait_s
    while True:
        try:
            read = lines.get(timeout=KEEP_S)
        except Empty:
            if time.monotonic() > until:
                raise Unanswered("nobody answered") from None
            if keep:
                keep()
        else:
            if not read:
                raise Unanswered("the input ended before everything was answered")
            return read
