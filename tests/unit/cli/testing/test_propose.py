"""Before a part is energised it is proposed what to test it by; one key agrees, and only to what lies there now."""

import io
import os
import pty
import select
import subprocess
import sys
import time
from collections.abc import Iterator

import pytest
from rich.console import Console

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.ask.propose import Wish, agree
from pulldrop.jobs.run import choose
from pulldrop.jobs.run.by_look import Looked, look
from pulldrop.jobs.run.specimens import empty_socket, find
from pulldrop.store import Store

GOOD, OTHER = "good-12v-changeover", "good-24v-changeover"


class Bench:
    """A virtual socket whose part a test exchanges, and a person who presses `keys`, None between for an exchange."""

    def __init__(self, part: str | None, *keys: str) -> None:
        self.board = VirtualBoard((find(part) if part else empty_socket()).specimen, 1, False)
        self.store, self.out = Store.open(":memory:"), Console(file=io.StringIO(), width=80, color_system=None)
        self.keys: Iterator[str] = iter(keys)
        self.looks = 0

    def see(self, protocol: str | None, rating: str | None) -> Looked:
        self.looks += 1
        plan = choose.plan_rated(protocol, rating) if rating else None
        return look(self.board, self.store, plan, protocol)

    def key(self) -> str:
        said = next(self.keys)
        if said in (GOOD, OTHER):
            self.board.insert(find(said).specimen)
            return self.key()
        return said

    def agree(self) -> Looked | None:
        return agree(self.out, Wish(None), self.see, self.key)

    @property
    def said(self) -> str:
        return " ".join(self.out.file.getvalue().split())  # type: ignore[attr-defined]  # the StringIO above


def test_what_is_seen_is_proposed_and_space_goes_on() -> None:
    bench = Bench(GOOD, " ")
    looked = bench.agree()
    assert looked is not None and looked.plan is not None and looked.plan.protocol == "relay-quick"
    assert "5-terminal mini relay of 12 V, any maker: relay-quick, about 5 s" in bench.said
    assert bench.looks == 2, "what is energised was looked at just before"


@pytest.mark.parametrize("key", ["\x1b", "q"])
def test_esc_leaves_and_nothing_is_tested(key: str) -> None:
    assert Bench(GOOD, key).agree() is None


def test_another_part_that_was_put_in_meanwhile_is_proposed_anew() -> None:
    bench = Bench(GOOD, OTHER, " ", " ")
    looked = bench.agree()
    assert looked is not None and looked.plan is not None and looked.plan.rating.nominal == 24.0
    assert bench.said.index("12 V, Form C") < bench.said.index("24 V, Form C")


def test_another_purpose_and_another_kind_are_a_key_each() -> None:
    looked = Bench(GOOD, "d", "f", " ").agree()
    assert looked is not None and looked.plan is not None and looked.plan.protocol == "relay-full"


def test_an_empty_socket_waits_for_a_part() -> None:
    bench = Bench(None, GOOD, " ", " ")
    assert bench.agree() is not None
    assert "Space: look again" in bench.said


def test_a_part_that_is_refused_for_a_fault_needs_no_key() -> None:
    bench = Bench("shorted-coil")
    looked = agree(bench.out, Wish(None, "class-mini-12v-form-c"), bench.see, bench.key)
    assert looked is not None and looked.refused


def test_at_a_terminal_the_command_waits_for_space() -> None:
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "pulldrop", "test", "--ask", "--board", "virtual", "--store", ":memory:"]
    with subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs) as process:
        os.close(theirs)
        sent, until, pressed = b"", time.monotonic() + 60, False
        while time.monotonic() < until and select.select([ours], [], [], 30)[0]:
            try:
                sent += os.read(ours, 65536)
            except OSError:  # Linux says the end of a terminal so
                break
            if not pressed and b"Esc: " in sent:
                time.sleep(0.2)
                assert process.poll() is None and b"PASS" not in sent
                os.write(ours, b" ")
                pressed = True
    os.close(ours)
    assert process.returncode == 0 and b"PASS" in sent and b"SIMULATED" in sent


def test_without_a_person_nobody_is_asked() -> None:
    command = [sys.executable, "-m", "pulldrop", "test", "--ask", "--board", "virtual", "--store", ":memory:"]
    done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0 and "Esc" not in done.stdout
