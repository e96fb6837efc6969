"""Where a host's numbers go on: behind the board's, wherever those stand."""

import pytest

from pulldrop.board.link import Link
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import ORDERS_AHEAD, QUESTIONS_AHEAD


class Silent:
    """A port that takes everything and says nothing."""

    in_waiting = 0

    def read(self, _size: int, /) -> bytes:
        return b""

    def write(self, data: bytes, /) -> int:
        return len(data)

    def close(self) -> None:
        pass


def heard(sequence: int, newest: int, most: int) -> int:
    """The board's newest number once it has heard this one (firmware/core/line/dispatch.c)."""
    return sequence if 1 <= (sequence - newest) % 256 <= most else newest


@pytest.mark.parametrize("greetings", [1, 12])
@pytest.mark.parametrize("answered", ["first", "last"])
def test_the_first_question_after_a_greeting_renews_the_lease_whatever_number_the_board_was_at(
    greetings: int, answered: str
) -> None:
    """At exactly 128 behind neither side moved, and the next 128 questions renewed nothing."""
    for newest in range(256):
        link, told = Link(Silent(), "nowhere", lambda: 0.0), []
        for _ in range(greetings):
            newest = heard(link.send(wire.GREET), newest, QUESTIONS_AHEAD)
            told.append(newest)
        link.begin(0, told[0 if answered == "first" else -1])
        assert heard(sequence := link.send(wire.STATUS), newest, QUESTIONS_AHEAD) == sequence


def test_the_first_order_is_ahead_and_those_that_another_host_may_have_sent_are_left_out() -> None:
    for newest in range(256):
        link = Link(Silent(), "nowhere", lambda: 0.0)
        link.begin(newest, 0)
        first = link.send(wire.ALL_OFF)
        assert heard(first, newest, ORDERS_AHEAD) == first
        assert all(heard((newest + sent) % 256, first, ORDERS_AHEAD) == first for sent in range(1, 9))
