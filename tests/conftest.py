"""What the tests cost: the slow ones come first, and minutes by folder are reported at the end, summed over the"
" workers."""

import gc
import os
import signal
import tempfile
from collections import Counter
from itertools import islice

import pytest

os.environ.setdefault("XDG_DATA_HOME", tempfile.mkdtemp(prefix="pulldrop-data-"))  # heads of stores are noted there

seconds: Counter[str] = Counter()

signal.signal(signal.SIGINT, signal.default_int_handler)  # what a shell begins in the background has it ignored


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Each of xdist's workers is dealt one stretch of the list, and takes from the others' ends when it is through: so
    each begins with its share of the slow tests, and none is left with one at the end."""
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    slow = [one for one in items if one.get_closest_marker("slow")]
    others = iter([one for one in items if not one.get_closest_marker("slow")])
    left, ordered = len(items), list[pytest.Item]()
    for worker in range(workers):
        first, count = slow[worker::workers], left // (workers - worker)
        ordered += first
        ordered += islice(others, max(count - len(first), 0))
        left -= count
    items[:] = [*ordered, *others]


def pytest_collection_finish() -> None:
    """What was imported and collected stays to the end: Python need not look through it again and again for garbage,
    which is a tenth of the work."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Each test reports three times: set up, called, torn down."""
    seconds["/".join(report.nodeid.split("/")[:2])] += report.duration


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    told = ", ".join(f"{folder} {spent / 60:.1f}" for folder, spent in seconds.most_common())
    terminalreporter.write_line(f"Minutes of work by folder: {told}; together {seconds.total() / 60:.1f}.")
