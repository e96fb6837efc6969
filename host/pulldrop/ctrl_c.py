"""What Ctrl-C does for a while; on its own, so that the store, a run and a page use one mechanism."""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def answered(by: Callable[[], None]) -> Iterator[None]:
    """Within, Ctrl-C calls `by`; behind, it does what it did before.

    Signals reach the main thread only; elsewhere this changes nothing. Nor does it where Ctrl-C is ignored, as in what
    a shell began in the background.
    """
    if threading.current_thread() is not threading.main_thread() or signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        yield
        return
    before = signal.signal(signal.SIGINT, lambda _signal, _frame: by())
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before or signal.default_int_handler)
