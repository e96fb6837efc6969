"""Every request of the schema, at and beyond its ranges: the board judges them before any handler runs."""

import pytest
from firmware_native import CODES, USUAL, Script, content

from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import MESSAGES, Field, Message, Result

BOUNDS = {"u8": (0, 255), "u16": (0, 65535), "u32": (0, 2**32 - 1), "i16": (-32768, 32767)}
FIELDS = [(message, field) for message in MESSAGES.values() for field in message.request]
LAST_MS = 8000


def name(value: object) -> str:
    return value.name if isinstance(value, Message | Field) else str(value)


def goes_with(message: Message, field: Field, value: int) -> dict[str, int]:
    """What a field needs of others: the coil's low end is sampled with the coil off only; a load is watched with throws
    or branches; with both, and for long, of the 1 A branch only."""
    if message is wire.WATCH_LOAD:
        return {"throws": int(value == 0)} if field.name == "branches" else {"branches": 1, "throws": 1}
    return {"on": 0} if field.name == "low_side" else {}


def result(message: Message, **values: int) -> Result:
    script = Script()
    asked = script.send(10, message, **values)
    return script.run(LAST_MS).answer(asked).result


@pytest.mark.parametrize(("message", "field"), FIELDS, ids=name)
def test_a_value_at_either_end_of_its_range_is_taken(message: Message, field: Field) -> None:
    for value in (field.least, field.most):
        assert result(message, **(goes_with(message, field, value) | {field.name: value})) is not Result.ARGUMENT


@pytest.mark.parametrize(("message", "field"), FIELDS, ids=name)
def test_a_value_beyond_its_range_is_refused_and_nothing_is_driven(message: Message, field: Field) -> None:
    least, most = BOUNDS[field.type]
    for value in (field.least - 1, field.most + 1, most):
        if least <= value <= most and not field.least <= value <= field.most:
            script = Script()
            asked = script.send(10, message, **{field.name: value})
            record = script.run(100)
            assert record.answer(asked).result is Result.ARGUMENT
            assert record.outputs == ()


@pytest.mark.parametrize("message", MESSAGES.values(), ids=name)
def test_a_request_too_short_or_too_long_is_unknown(message: Message) -> None:
    whole = content(message, 1)
    wrong = [whole + b"\x01"] + ([whole[:-1]] if message.request else [])
    for i, data in enumerate(wrong):
        script = Script()
        script.raw(10 + i, frame(data))
        assert script.run(100).answer(1).result is Result.UNKNOWN


def test_a_request_that_the_schema_does_not_have_is_answered_unknown() -> None:
    strangers = [i for i in range(0x80) if i not in MESSAGES]
    script = Script()
    for i, stranger in enumerate(strangers):
        script.raw(10 + 2 * i, frame(bytes([i, stranger])))
    found = [answered for _, answered in script.run(500).contents]
    assert found == [bytes([i, stranger | 0x80, Result.UNKNOWN]) for i, stranger in enumerate(strangers)]


@pytest.mark.parametrize(("dac", "step", "count"), [(4095, 1, 2), (0, -1, 2), (0, 4095, 3), (2000, -32768, 2)])
def test_a_staircase_that_would_leave_the_dac_range_is_refused(dac: int, step: int, count: int) -> None:
    assert result(wire.STAIRCASE, dac=dac, step=step, count=count) is Result.ARGUMENT


def test_the_usual_values_name_every_field_of_the_schema() -> None:
    assert {field.name for _, field in FIELDS} == set(USUAL)
    assert {field.type for _, field in FIELDS} <= set(CODES)
