"""What the tests cost, told at their end: minutes by folder, summed over the workers."""

from collections import Counter

import pytest

seconds: Counter[str] = Counter()


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Each test reports three times: set up, called, torn down."""
    seconds["/".join(report.nodeid.split("/")[:2])] += report.duration


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    told = ", ".join(f"{folder} {spent / 60:.1f}" for folder, spent in seconds.most_common())
    terminalreporter.write_line(f"Minutes of work by folder: {told}; together {seconds.total() / 60:.1f}.")
