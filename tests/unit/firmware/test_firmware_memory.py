"""What the board keeps in its EEPROM: number, kind and the host's notes; written sparingly, and never under load."""

import pytest
from firmware_native import Record, Script

from pulldrop.emulator.memory import NAME_AT, eeprom
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Message, Result

NOTES_AT = 256
WRITING = [wire.NAME_BOARD, wire.WRITE_NOTES]


def greeted(memory: bytes, *names: str) -> list[int]:
    """What a board that starts with this EEPROM says of itself."""
    script = Script(eeprom=memory)
    asked = script.send(10, wire.GREET)
    answer = script.run(50).answer(asked)
    return [answer.number(name) for name in names]


def written(memory: bytes, message: Message = wire.WRITE_NOTES, **values: int) -> Record:
    """A board with this EEPROM after one request that writes."""
    script = Script(eeprom=memory)
    script.send(10, message, **values)
    return script.run(100)


def test_a_board_never_named_says_so_and_keeps_the_number_it_is_given() -> None:
    script = Script()
    first = script.send(10, wire.GREET)
    script.send(20, wire.NAME_BOARD, serial=70_000)
    second = script.send(90, wire.GREET)
    record = script.run(200)
    assert [record.answer(first).number(name) for name in ("serial", "kind", "boots")] == [0, 0x52, 1]
    assert [record.answer(second).number(name) for name in ("serial", "kind", "boots")] == [70_000, 0x52, 1]
    assert greeted(record.eeprom, "serial", "kind", "boots") == [70_000, 0x52, 2]


def test_a_simulated_board_stays_simulated_under_any_number() -> None:
    record = written(eeprom(53), wire.NAME_BOARD, serial=70_000)
    assert greeted(record.eeprom, "serial", "kind") == [70_000, 0x53]


@pytest.mark.parametrize("place", range(7))
def test_a_damaged_name_counts_as_never_written(place: int) -> None:
    kept = bytearray(written(b"", wire.NAME_BOARD, serial=70_000).eeprom)
    kept[NAME_AT + place] ^= 1
    assert greeted(bytes(kept), "serial", "kind") == [0, 0x52]


def test_nothing_is_written_where_a_supply_that_breaks_down_could_spoil_it() -> None:
    """Address 0 is where the address register points after a reset."""
    worn = [at for message in WRITING for _, at in written(b"", message).worn]
    assert worn
    assert min(worn) >= 16


@pytest.mark.parametrize("first", [0, 5, 764])
def test_notes_are_read_back_as_they_were_written(first: int) -> None:
    memory = written(b"", first=first).eeprom
    script = Script(eeprom=memory)
    asked = script.send(10, wire.READ_NOTES, first=min(first, 736))
    notes = script.run(50).answer(asked).numbers("notes")
    at = first - min(first, 736)
    assert notes[at : at + 4] == (1, 2, 3, 4)
    assert set(notes[:at] + notes[at + 4 :]) <= {0xFF}


@pytest.mark.parametrize("first", [0, 4, 100, 380, 764])
def test_notes_touch_nothing_but_their_own_four_bytes(first: int) -> None:
    before = bytes(range(256)) * 4
    after = written(before, first=first).eeprom
    at = NOTES_AT + first
    assert after[at : at + 4] == b"\x01\x02\x03\x04"
    own = (*range(32, 36), *range(48, 51), *range(at, at + 4))
    assert [i for i in range(len(before)) if after[i] != before[i] and i not in own] == [], "but boots and mark"


@pytest.mark.parametrize("message", WRITING, ids=lambda message: message.name)
def test_what_is_there_already_is_not_written_again(message: Message) -> None:
    first = written(b"", message)
    again = written(first.eeprom, message)
    assert [line for line in again.worn if line[0] >= 10] == []
    assert len([line for line in first.worn if line[0] >= 10]) >= 4


@pytest.mark.parametrize("message", WRITING, ids=lambda message: message.name)
@pytest.mark.parametrize(("on", "dry"), [(1, 0), (0, 1)])
def test_nothing_is_written_while_anything_is_on(message: Message, on: int, dry: int) -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, on=on, dry=dry)
    asked = script.send(20, message)
    script.send(30, wire.ALL_OFF)
    later = script.send(40, message)
    record = script.run(100)
    assert record.answer(asked).result is Result.ENERGISED
    assert not [ms for ms, _ in record.worn if 10 <= ms < 40]
    assert record.answer(later).result is Result.DONE
