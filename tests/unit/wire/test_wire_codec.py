"""The codec: every message of the schema survives the trip, and nothing that is not in the schema gets through."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.board.request_types import CURRENT_LIMIT_MAX, DAC_MAX, ON_MS_MAX, PULSE_MS_MAX
from pulldrop.wire import codec
from pulldrop.wire import messages as wire
from pulldrop.wire.codec import Malformed
from pulldrop.wire.frames import LONGEST_CONTENT
from pulldrop.wire.messages import MESSAGES, Field, Message, Result

EVERY = st.sampled_from(sorted(MESSAGES.values(), key=lambda message: message.id))


def _values(fields: tuple[Field, ...]) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.tuples(*(_value(field) for field in fields))


def _value(field: Field) -> st.SearchStrategy[Any]:
    number = st.integers(field.least, field.most)
    return st.lists(number, max_size=field.array).map(tuple) if field.array else number


@given(EVERY.flatmap(lambda m: st.tuples(st.just(m), _values(m.request))), st.integers(0, 255))
def test_every_request_can_be_read_back(case: tuple[Message, tuple[Any, ...]], sequence: int) -> None:
    message, values = case
    content = codec.request(sequence, message, values)
    assert content[:2] == bytes([sequence, message.id])
    assert codec.unpack(message, message.request, content[2:]) == values
    assert len(content) <= LONGEST_CONTENT


@given(EVERY.flatmap(lambda m: st.tuples(st.just(m), _values(m.answer))), st.integers(0, 255))
def test_every_answer_is_decoded_as_it_was_sent(case: tuple[Message, tuple[Any, ...]], sequence: int) -> None:
    message, values = case
    content = bytes([sequence, message.id | 0x80, 0]) + codec.pack(message, message.answer, values)
    answer = codec.answer(content)
    assert (answer.sequence, answer.message, answer.result, answer.values) == (sequence, message, Result.DONE, values)
    assert len(content) <= LONGEST_CONTENT


@given(st.binary(max_size=LONGEST_CONTENT))
def test_any_bytes_are_an_answer_or_malformed(content: bytes) -> None:
    try:
        answer = codec.answer(content)
    except Malformed:
        return
    assert answer.message.id | 0x80 == content[1]


@given(EVERY.flatmap(lambda m: st.tuples(st.just(m), _values(m.answer))), st.data())
def test_an_answer_cut_short_or_too_long_is_malformed(
    case: tuple[Message, tuple[Any, ...]], data: st.DataObject
) -> None:
    message, values = case
    content = bytes([1, message.id | 0x80, 0]) + codec.pack(message, message.answer, values)
    with pytest.raises(Malformed):
        codec.answer(content + b"\x00")
    with pytest.raises(Malformed):
        codec.answer(content[: data.draw(st.integers(0, len(content) - 1))])


@pytest.mark.parametrize("message", MESSAGES.values(), ids=lambda message: message.name)
def test_a_request_field_outside_its_range_is_not_sent(message: Message) -> None:
    least = [field.least for field in message.request]
    for i, field in enumerate(message.request):
        for wrong in (field.least - 1, field.most + 1):
            with pytest.raises(Malformed, match=rf"{message.name}\.{field.name} must be .* not {wrong}"):
                codec.request(1, message, [*least[:i], wrong, *least[i + 1 :]])
    with pytest.raises(Malformed, match="fields"):
        codec.request(1, message, [*least, 0])


def test_a_refusal_carries_nothing_more() -> None:
    content = bytes([7, wire.STEP_COIL.id | 0x80, Result.DUTY])
    assert codec.answer(content).values == ()
    with pytest.raises(Malformed):
        codec.answer(content + b"\x00")


@pytest.mark.parametrize(
    ("what", "content"),
    [
        ("a request", bytes([1, wire.GREET.id, 0])),
        ("an unknown message", bytes([1, 0xFF, 0])),
        ("an unknown result", bytes([1, wire.ALL_OFF.id | 0x80, 99])),
        ("more array values than fit", bytes([1, wire.READ_EDGES.id | 0x80, 0, 7, 0, 13]) + bytes(52)),
    ],
)
def test_what_is_no_answer_is_malformed(what: str, content: bytes) -> None:
    with pytest.raises(Malformed):
        codec.answer(content)


def test_a_field_is_asked_for_as_what_it_is() -> None:
    answer = codec.answer(bytes([1, wire.READ_EDGES.id | 0x80, 0, 7, 0, 1, 1, 0, 0, 0]))
    assert answer.numbers("edges") == (1,)
    with pytest.raises(TypeError):
        answer.number("edges")


def test_the_contract_and_the_schema_agree() -> None:
    most = {(m.name, field.name): field.most for m in MESSAGES.values() for field in m.request}
    assert most["hold_coil", "dac"] == DAC_MAX
    assert most["hold_coil", "on_ms"] == ON_MS_MAX
    assert most["hold_coil", "limit"] == CURRENT_LIMIT_MAX
    assert most["load_pulse", "limit_ms"] == PULSE_MS_MAX


def test_everything_that_can_energise_is_never_repeated() -> None:
    energy = {message.name for message in MESSAGES.values() if message.energy}
    assert energy == {"hold_coil", "step_coil", "staircase", "load_pulse", "hot_step", "watch_load", "follow_coil"}
