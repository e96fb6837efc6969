"""Losses while a wire is moved: 5 % deep or 3 ms long, against the quiet before, under the place that was moved."""

from collections.abc import Callable

from pulldrop.judge.socket.losses import QUIET_S, Loss, Wiggle
from pulldrop.model.raw import LEAD_S

BATTERY = 12.4


def moved(volts: Callable[[float], float], seconds: float, battery: float = BATTERY) -> Wiggle:
    wiggle = Wiggle(place="fuse box")
    for i in range(int(seconds / LEAD_S)):
        at = i * LEAD_S
        wiggle.place = "fuse box" if at < QUIET_S + 5 else "bulkhead plug"
        wiggle.feed(at, volts(at), battery)
    return wiggle


def dip(at: float, seconds: float, depth: float) -> Callable[[float], float]:
    """The mean of each reading while the wire is lost for so long."""

    def volts(now: float) -> float:
        inside = max(0.0, min(now + LEAD_S, at + seconds) - max(now, at)) / LEAD_S
        return BATTERY * (1 - depth * inside)

    return volts


def test_a_loss_of_a_third_of_a_millisecond_is_deep_enough_to_sound() -> None:
    (loss,) = moved(dip(QUIET_S + 2, 0.35e-3, 1.0), QUIET_S + 4).losses
    assert loss.place == "fuse box" and 0.05 < loss.depth < 0.2


def test_a_shallow_loss_sounds_from_3_ms_on() -> None:
    assert moved(dip(QUIET_S + 2, 1e-3, 0.03), QUIET_S + 4).losses == []
    (loss,) = moved(dip(QUIET_S + 2, 12e-3, 0.03), QUIET_S + 4).losses
    assert loss.seconds >= 7e-3


def test_losses_are_filed_under_the_place_that_was_moved() -> None:
    first, second = dip(QUIET_S + 1, 5e-3, 0.5), dip(QUIET_S + 7, 5e-3, 0.5)
    found = moved(lambda at: min(first(at), second(at)), QUIET_S + 9).losses
    assert [one.place for one in found] == ["fuse box", "bulkhead plug"]


def test_what_is_lost_in_the_quiet_time_is_no_hands_doing() -> None:
    wiggle = moved(dip(5.0, 4e-3, 0.8), QUIET_S + 1)
    assert [one.place for one in wiggle.losses] == [""] and wiggle.quiet_losses == wiggle.losses


def test_a_line_that_is_noisy_by_itself_needs_more_for_a_loss() -> None:
    def noisy(at: float) -> float:
        return BATTERY * (1 - 0.03 * (int(at / LEAD_S) % 100 < 3))

    assert moved(noisy, QUIET_S + 4).losses == []


def test_a_battery_that_goes_down_slowly_is_no_loss() -> None:
    assert moved(lambda at: BATTERY * (1 - 0.01 * at), QUIET_S + 5).losses == []


def test_a_loss_says_when_and_how_long() -> None:
    (loss,) = moved(dip(QUIET_S + 2, 24e-3, 1.0), QUIET_S + 4).losses
    assert (
        isinstance(loss, Loss) and abs(loss.at_s - QUIET_S - 2) < 2 * LEAD_S and abs(loss.seconds - 24e-3) < 2 * LEAD_S
    )


def test_a_ground_is_lost_where_it_rises_and_its_noise_is_no_loss() -> None:
    lost = dip(QUIET_S + 2, 5e-3, 1.0)
    (loss,) = moved(lambda at: 0.02 * ((at * 997) % 1.0) + (BATTERY - lost(at)), QUIET_S + 4).losses
    assert loss.depth > 0.5 and abs(loss.at_s - QUIET_S - 2) < 2 * LEAD_S
