"""Ctrl-C: the first one ends a run, no later one cuts the switching-off short."""

import os
import signal
import threading

import pytest

from pulldrop.jobs.run.interrupt import one_interrupt


def press_ctrl_c() -> None:
    os.kill(os.getpid(), signal.SIGINT)


def test_the_first_ctrl_c_interrupts() -> None:
    with pytest.raises(KeyboardInterrupt), one_interrupt():
        press_ctrl_c()


def test_a_second_ctrl_c_does_not_disturb_the_cleaning_up() -> None:
    cleaned = []
    with one_interrupt():
        try:
            press_ctrl_c()
        except KeyboardInterrupt:
            press_ctrl_c()
            cleaned.append("board off")
            press_ctrl_c()
            cleaned.append("run kept")
    assert cleaned == ["board off", "run kept"]


def test_once_deaf_not_even_the_first_ctrl_c_disturbs_and_it_is_raised_behind() -> None:
    done = []
    with pytest.raises(KeyboardInterrupt), one_interrupt() as make_deaf:
        make_deaf()
        press_ctrl_c()
        done.append("board off")
        press_ctrl_c()
        done.append("run kept")
    assert done == ["board off", "run kept"]


def test_afterwards_ctrl_c_is_as_before() -> None:
    before = signal.getsignal(signal.SIGINT)
    with pytest.raises(ZeroDivisionError), one_interrupt():
        raise ZeroDivisionError
    assert signal.getsignal(signal.SIGINT) is before


def test_in_another_thread_nothing_is_changed() -> None:
    before, seen = signal.getsignal(signal.SIGINT), []

    def elsewhere() -> None:
        with one_interrupt():
            seen.append(signal.getsignal(signal.SIGINT))

    thread = threading.Thread(target=elsewhere)
    thread.start()
    thread.join()
    assert seen == [before]


def test_where_a_shell_has_ctrl_c_ignored_it_is() -> None:
    """It was heard during a part and a transaction, and not between them: a crate went on or ended as it fell."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with one_interrupt():
            press_ctrl_c()
    finally:
        signal.signal(signal.SIGINT, before)
