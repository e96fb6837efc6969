"""The campaign about vehicle leads says the same of the same seed, and sees where another leg is named."""

from pathlib import Path

from circuits import drawn
from leads import one_circuit, worth_a_look, wrong

from pulldrop.judge.socket.table import ORDER


def test_a_blown_feed_is_named_and_another_leg_would_be_wrong(tmp_path: Path) -> None:
    number = next(n for n in range(60) if drawn(21, n).kind.startswith("feed: feed fuse {'blown'"))
    line = one_circuit(21, number, tmp_path)
    assert line.found and line.found.first == "feed" and not wrong(line) and sum(line.inside) / len(line.inside) > 0.9
    other = line.found.model_copy(update={"first": next(leg for leg in ORDER if not line.case.broken(leg))})
    planted = type(line)(line.case, other, "", line.inside)
    assert wrong(planted) and worth_a_look(planted)
