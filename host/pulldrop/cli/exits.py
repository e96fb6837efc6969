"""The exit codes, in one place. Rule: 0 means a part that passed (or a command that answered), and nothing else."""

from pulldrop.model.verdict import Overall

INPUT = 2
OPEN_END = 3
BENCH = 4

CODES = {
    Overall.PASS: 0,
    Overall.FAIL: 1,
    Overall.UNSURE: OPEN_END,
    Overall.INCOMPLETE: OPEN_END,
    Overall.WITHOUT_LOAD: OPEN_END,
    Overall.INTERRUPTED: OPEN_END,
    Overall.BENCH_TROUBLE: BENCH,
}
