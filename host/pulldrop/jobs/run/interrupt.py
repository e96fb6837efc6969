"""Ctrl-C while something may be energised: the first one ends the run, no later one cuts the switching-off short.

Rule: none is lost. One that came too late to end the run ends what comes after it.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from pulldrop.ctrl_c import answered


@contextmanager
def one_interrupt() -> Iterator[Callable[[], None]]:
    """Within, only the first Ctrl-C raises KeyboardInterrupt. Calling the yielded function makes it deaf to that too;
    then the first is raised at the end, if nothing else is.
    """
    deaf = raised = late = False

    def make_deaf() -> None:
        nonlocal deaf
        deaf = True

    def on_interrupt() -> None:
        nonlocal raised, late
        if not deaf:
            make_deaf()
            raised = True
            raise KeyboardInterrupt
        late = not raised

    with answered(on_interrupt):
        yield make_deaf
    if late:
        raise KeyboardInterrupt
