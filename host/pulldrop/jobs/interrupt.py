"""Ctrl-C while something may be energised: the first one ends the run, no later one cuts the switching-off short.

Rule: none is lost. One that came too late to end the run ends what comes after it.
"""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def one_interrupt() -> Iterator[Callable[[], None]]:
    """Within, only the first Ctrl-C raises KeyboardInterrupt. Calling the yielded function makes it deaf to that too;
    then the first is raised at the end, if nothing else is.

    Signals reach the main thread only; elsewhere this changes nothing.
    """
    deaf = raised = late = False

    def make_deaf() -> None:
        nonlocal deaf
        deaf = True

    def on_interrupt(_signal: int, _frame: FrameType | None) -> None:
        nonlocal raised, late
        if not deaf:
            make_deaf()
            raised = True
            raise KeyboardInterrupt
        late = not raised

    if threading.current_thread() is not threading.main_thread():
        yield make_deaf
        return
    before = signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield make_deaf
    finally:
        signal.signal(signal.SIGINT, before or signal.default_int_handler)
    if late:
        raise KeyboardInterrupt
