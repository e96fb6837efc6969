"""A small campaign at the doors in the normal suite, and the faults that it must find."""

import random
from collections.abc import Callable, Iterator

import doors
import pytest


@pytest.fixture(scope="module")
def sound() -> Iterator[doors.Doors]:
    with doors.opened() as made:
        yield made


def test_damaged_input_at_any_door_gets_an_answer(sound: doors.Doors) -> None:
    seen = doors.Seen()
    for number in range(60):
        doors.tried(sound, number, 7, seen)
    assert seen.wrong == [] and len(seen.tries) >= 5


def traceback(_: list[str]) -> int:
    print("Traceback (most recent call last):")
    return 2


def fault(_: list[str]) -> int:
    raise KeyError("left")


def of_the_bench(_: list[str]) -> int:
    return 4


def drives(_: list[str]) -> int:
    print("\x1b[2J")
    return 0


def hangs(_: list[str]) -> int:
    raise doors.Hang


@pytest.mark.parametrize("planted", [traceback, fault, of_the_bench, drives, hangs])
def test_a_planted_fault_is_found(
    sound: doors.Doors, planted: Callable[[list[str]], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = doors.Seen()
    monkeypatch.setattr(doors, "pulldrop", planted)
    monkeypatch.setattr(doors, "SHARE", ("words",))
    doors.tried(sound, 1, 7, seen)
    assert len(seen.wrong) == 1 and "try 1, words" in seen.wrong[0]


def test_every_record_that_is_damaged_differs_from_the_sound_one() -> None:
    sound = {"run": "1", "judged": [{"value": 1.0, "unit": "V"}] * 3}
    altered = []
    for number in range(200):
        record = {"run": "1", "judged": [dict(one) for one in sound["judged"]]}
        doors.alter(record, random.Random(number))
        altered.append(repr(record) != repr(sound))
    assert sum(altered) > 190
