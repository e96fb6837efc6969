"""The word for a watched line: by the battery of the moment, after it stood, pulses with rate and duty, blinks told."""

import math
from collections.abc import Callable

import pytest

from pulldrop.judge.socket.levels import Change, Line, Word, level
from pulldrop.model.raw import LEAD_S

BATTERY = 12.4


def fed(
    volts: Callable[[float], float], seconds: float, battery: Callable[[float], float] = lambda _: BATTERY
) -> tuple[Line, list[Change]]:
    line, changes = Line(), list[Change]()
    for i in range(int(seconds / LEAD_S)):
        changes += line.feed(i * LEAD_S, volts(i * LEAD_S), battery(i * LEAD_S))
    return line, changes


def smoothed(hz: float, duty: float) -> Callable[[float], float]:
    """Pulses of the battery's volts, each reading the mean over its own time."""

    def at(time_s: float) -> float:
        steps = [((time_s + LEAD_S * i / 24) * hz) % 1.0 < duty for i in range(24)]
        return BATTERY * sum(steps) / 24

    return at


@pytest.mark.parametrize(
    ("volts", "battery", "word"),
    [(12.0, 12.4, "ON"), (9.0, 12.4, "LOW"), (6.0, 12.4, "WEAK"), (0.8, 12.4, "OFF"), (9.0, 9.4, "ON"),
     (19.0, 25.0, "LOW"), (0.5, 0.6, "OFF")],
)  # fmt: skip
def test_the_word_follows_the_battery_of_the_moment(volts: float, battery: float, word: Word) -> None:
    assert level(volts, battery) == word


def test_a_battery_that_sags_while_the_engine_starts_changes_no_word() -> None:
    def sag(at: float) -> float:
        return 9.0 if 0.5 < at < 1.5 else BATTERY

    _, changes = fed(lambda at: sag(at) - 0.2, 2.0, sag)
    assert [one.word for one in changes] == ["ON"]


def test_on_counts_after_a_tenth_of_a_second_and_is_told_from_its_beginning() -> None:
    line, changes = fed(lambda at: BATTERY if at >= 1.0 else 0.0, 1.09)
    assert line.word == "OFF"
    line, changes = fed(lambda at: BATTERY if at >= 1.0 else 0.0, 1.2)
    assert [one.word for one in changes] == ["OFF", "ON"] and changes[1].at_s == pytest.approx(1.0, abs=2 * LEAD_S)


def test_a_short_dip_is_told_as_a_blink_with_its_length_and_depth() -> None:
    _, changes = fed(lambda at: 3.0 if 1.0 <= at < 1.012 else BATTERY, 1.5)
    (blink,) = [one for one in changes if one.blink_s]
    assert blink.word == "ON" and blink.blink_s == pytest.approx(0.012, abs=LEAD_S)
    assert blink.share == pytest.approx(3.0 / BATTERY, abs=0.02)


@pytest.mark.parametrize(("hz", "duty"), [(1.5, 0.5), (2.0, 0.3), (4.0, 0.5), (60.0, 0.4), (100.0, 0.5)])
def test_flashers_and_dimming_are_pulsed_with_frequency_and_duty(hz: float, duty: float) -> None:
    line, changes = fed(smoothed(hz, duty), 4.5 / hz + 1.0)
    assert line.word == "PULSED" and changes[-1].word == "PULSED"
    assert line.hz == pytest.approx(hz, rel=0.05) and line.duty == pytest.approx(duty, abs=0.1)


def test_a_fast_flasher_is_on_before_it_is_known_to_be_pulsed() -> None:
    _, changes = fed(smoothed(3.6, 0.45), 0.9)
    assert [one.word for one in changes][:2] == ["ON", "OFF"]


def test_a_flasher_that_is_let_go_is_no_longer_pulsed() -> None:
    flasher = smoothed(2.0, 0.5)
    line, changes = fed(lambda at: flasher(at) if at < 4.0 else 0.0, 6.0)
    assert line.word == "OFF" and changes[-1].word == "OFF"


def test_noise_of_a_reading_is_no_change() -> None:
    _, changes = fed(lambda at: BATTERY + 0.05 * math.sin(at * 1234.5), 3.0)
    assert [one.word for one in changes] == ["ON"]
