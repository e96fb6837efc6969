"""The exit codes, in one place, and the one ending without words.

Rule: 0 means a part that passed (or a command that answered), and nothing else.
"""

from pulldrop.model.verdict import Overall

INPUT = 2
OPEN_END = 3
BENCH = 4

CODES = {
    Overall.PASS: 0,
    Overall.FAIL: 1,
    Overall.UNSURE: OPEN_END,
    Overall.DO_NOT_ENERGISE: OPEN_END,
    Overall.ANOTHER_KIND: OPEN_END,
    Overall.INCOMPLETE: OPEN_END,
    Overall.WITHOUT_LOAD: OPEN_END,
    Overall.INTERRUPTED: OPEN_END,
    Overall.BENCH_TROUBLE: BENCH,
}


class ReaderGone(Exception):
    """The program that reads our output has closed it, as `head` does."""
