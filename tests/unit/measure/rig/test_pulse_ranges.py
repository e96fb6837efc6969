"""A pulse finds the converter range that holds it; no board is needed to say how."""

import pytest

from pulldrop.board.request_types import PULSE_MS_MAX
from pulldrop.measure.rig.counts.ranges import FULL
from pulldrop.measure.rig.load import in_range, pulse_of
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.model.step import PULSE_MOST_S


def asked(fills: set[int], **how: object) -> tuple[list[int], list[int]]:
    """The ranges of all pulses that were made, and of those that count; `fills`: ranges that a pulse fills."""
    tried: list[int] = []

    def ask(gain: int) -> PulseCounts:
        tried.append(gain)
        drop = -FULL if gain in fills else 100
        return PulseCounts(gain=gain, drop=(drop,), shunt=(100,))

    return tried, [one.gain for one in in_range(ask, **how)]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("fills", "how", "tried", "kept"),
    [
        (set[int](), {}, [5], [5]),
        ({5, 4}, {}, [5, 4, 3], [3]),
        ({5, 4}, {"gain": 2}, [2], [2]),
        ({5, 4, 3, 2, 1}, {}, [5, 4, 3, 2, 1], [1]),
        ({5, 4, 3, 2, 1}, {"dead": lambda _counts: True}, [5, 1], [1]),
        ({5}, {"count": 3}, [5, 4, 4, 4], [4, 4, 4]),
    ],
)
def test_the_first_range_that_no_pulse_fills_counts(
    fills: set[int], how: dict[str, object], tried: list[int], kept: list[int]
) -> None:
    assert asked(fills, **how) == (tried, kept)


def test_the_longest_pulse_that_a_protocol_may_ask_for_is_one_that_the_board_takes() -> None:
    """One above 440 ms passed `protocol check`, and the board refused it in the middle of a run."""
    assert pulse_of(Contact.NO, 10.0, PULSE_MOST_S, 5).limit_ms == PULSE_MS_MAX
