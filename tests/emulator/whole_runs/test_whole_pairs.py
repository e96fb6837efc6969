"""A fuse and a lamp on the compiled firmware of both builds: it reads what the virtual boards read."""

import pytest
from on_bench import FUSE, LAMP, part, run_on

from pulldrop.model.verdict import Overall


@pytest.mark.parametrize(
    ("board", "rating", "given"),
    [("emulated", "lamp-bus-12v-21w", LAMP), ("emulated-evening", "fuse-regular-10a", FUSE)],
)
def test_the_emulated_board_reads_as_the_virtual_one(board: str, rating: str, given: dict[str, object]) -> None:
    one, other = run_on(rating, part(given), board), run_on(rating, part(given), board.replace("emulated", "virtual"))
    assert one.verdict.overall is other.verdict.overall is Overall.PASS
    for id in {*one.found} - {"pair_scatter"}:
        a, b = one.read(id), other.read(id)
        assert abs(a.number - b.number) <= 0.5 * (a.expanded_uncertainty + b.expanded_uncertainty), id
