"""A first evening as a person at a terminal of 80 by 24 goes through it: installed, from an empty Nano to two verdicts.

Real time throughout. The Nano that is flashed and the evening board that is tested are two emulated chips: once the
firmware is written, the board that runs the same firmware is found at the Nano's port. Its knob is turned by a hand
that is fast where no edge is near. The calibration compares clocks for a minute, so it runs beside all this, at a third
chip, of a bench with the same parts. The bulb of the first load is passed over, as nothing emulates it.
"""

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import termios
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest
from nano_on_cable import Nano, Workshop
from served.process import Emulator

from pulldrop.board.loader import image
from pulldrop.emulator.memory import eeprom
from pulldrop.jobs.run import specimens
from pulldrop.plant.bench.evening import EveningBench
from pulldrop.plant.bench.instruments import Garage
from pulldrop.plant.bench.pins import Pins

ROWS, COLUMNS = 24, 80
PATIENCE_S = 90.0
CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]|\x1b[=>]|\a")
MOST_V, NEAR_V = 15.0, 4.0
SEED = 774
"""Of a bench whose hand turns its knob at 1.2 to 1.4 V/s."""
NO_PATH = ("COLUMNS", "LINES", "NO_COLOR", "PYTHONPATH", "PYTHONDONTWRITEBYTECODE")


class Person:
    """Somebody who reads what a command prints on a terminal, and presses keys."""

    def __init__(self, *words: str | Path) -> None:
        self._ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        around = {name: value for name, value in os.environ.items() if name not in NO_PATH}
        self._process = subprocess.Popen(
            words,
            stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True, env=around | {"TERM": "xterm-256color"},
        )  # fmt: skip
        os.close(theirs)
        self.all = self._unread = ""

    def reads(self, *texts: str) -> str:
        """Wait until all of these were printed, one after the other; gives what came up to the last."""
        read = ""
        for text in texts:
            until = time.monotonic() + PATIENCE_S
            while text not in self._unread:
                assert self._more(until), f"'{text}' was not read; instead:\n{self._unread[-3000:]}"
            here, found, self._unread = self._unread.partition(text)
            read += here + found
        return read

    def reads_one_of(self, texts: Iterable[str]) -> str:
        """The first of these that is printed."""
        until = time.monotonic() + PATIENCE_S
        while not (found := {self._unread.find(text): text for text in texts if text in self._unread}):
            assert self._more(until), f"none of {texts} was read; instead:\n{self._unread[-3000:]}"
        first = found[min(found)]
        self.reads(first)
        return first

    def press(self, key: str) -> None:
        time.sleep(0.15)  # keys that came before the prompt do not count
        os.write(self._ours, key.encode())

    def types(self, question: str, answer: str = "") -> None:
        self.reads(question, "(Esc: leave)")
        self.press(f"{answer}\n")

    def lines(self) -> list[str]:
        """All that was printed; what is drawn anew is a line of its own."""
        return re.split(r"[\r\n]+", CONTROL.sub("", self.all))

    def ends(self) -> int:
        """Its exit code, once it has said all."""
        until = time.monotonic() + PATIENCE_S
        while self._more(until):
            pass
        return self._process.wait(timeout=10)

    def _more(self, until: float) -> bool:
        if not select.select([self._ours], [], [], max(0.0, until - time.monotonic()))[0]:
            return False
        try:
            new = os.read(self._ours, 65536).decode(errors="replace")
        except OSError:
            return False
        self.all += new
        self._unread = re.sub(r"\s+", " ", self._unread + CONTROL.sub("", new))
        return bool(new)

    def close(self) -> None:
        if self._process.poll() is None:
            self._process.kill()
            self._process.wait()
        os.close(self._ours)


@contextmanager
def at_terminal(*words: str | Path) -> Iterator[Person]:
    person = Person(*words)
    try:
        yield person
    finally:
        person.close()


def goes_on(person: Person, *headings: str) -> None:
    """Reads each heading and its prompt, and goes on."""
    for heading in headings:
        person.reads(heading, "Space: done, go on")
        person.press(" ")


BACK = "Set the switch S4 back to 'supply'"


def turned(bench: Emulator, to_v: float) -> None:
    """Fast to where no edge is near, slowly from there."""
    bench.turn(NEAR_V)
    bench.hurry()
    time.sleep(1.0)
    bench.turn(to_v)


def turns_the_knob(person: Person, bench: Emulator) -> list[str]:
    """Does with the knob what the screen asks for, until S4 is back; gives what was asked."""
    does: dict[str, Callable[[], None]] = {
        "set the switch S4 to 'knob'": lambda: bench.knob(0.0),
        "Turn the knob slowly to the right": lambda: turned(bench, MOST_V),
        "Turn the knob slowly back to the left": lambda: turned(bench, 0.0),
        "Go on to the end": bench.hurry,
        BACK: lambda: bench.knob(None),
    }
    asked = [""]
    while asked[-1] != BACK:
        now = person.reads_one_of(does)
        if now != asked[-1]:
            does[now]()
            asked.append(now)
    return asked[1:]


def agrees(person: Person) -> str:
    """Has the part tested as what the look proposes; gives what is said first."""
    person.reads("SIMULATED", "5-terminal mini relay of 12 V, any maker: relay-quick", "Space: test it")
    person.press(" ")
    return person.reads("SIMULATED", "Fingers and electronics off 85 and 86")


def calibrates(pulldrop: Path, store: str) -> None:
    """With a multimeter and one resistor of 100 ohm, 0.1 %; thermometer, link, low resistor and stop are left out."""
    garage, twin = Garage(SEED), EveningBench(specimens.empty_socket().specimen, SEED)
    twin.drive(Pins(lamp=True))
    with (
        Emulator(specimens.empty_socket().text, SEED, evening=True) as bench,
        at_terminal(pulldrop, "calibrate", "--board", bench.port, "--store", store) as person,
    ):
        person.reads("SIMULATED (emulated board)", "[1 of 8] your multimeter")
        for question in ("Counts of its display", "DC volts", "Resistance", "Digits", "Accuracy of your", "beside the"):
            person.types(question)
        person.reads("Multimeter to DC volts: red to 86", "Space: it is done")
        person.press(" ")
        person.types("S4 at supply. The multimeter shows", f"{garage.volts(twin.coil_supply_v):.2f}")
        person.types("A resistor of about 100 ohm", "100")
        person.types("Its tolerance", "0.1")
        person.reads("Put the resistor into the socket between 86 and 85", "Space: it is done")
        bench.insert(garage.coil_resistor(twin.frontend.temperature_c))
        person.press(" ")
        person.types("A shorting link", "0")
        person.types("A resistor of about 0.22 ohm")
        person.types("Press the emergency stop once", "0")
        person.reads("[8 of 8] clock", "coil resistance", "Good until", "It is kept in the board too")
        assert person.ends() == 0


def result(person: Person) -> str:
    """The last screen, which is read whole."""
    lines = person.lines()
    assert max(map(len, lines)) <= COLUMNS
    last = lines[max(at for at, line in enumerate(lines) if "SIMULATED (emulated board)" in line) :]
    assert len(last) <= ROWS
    return " ".join(" ".join(last).split())


@pytest.mark.slow
def test_a_first_evening_from_an_empty_nano_to_the_verdicts_of_two_parts(
    workshop: Workshop, pulldrop: Path, tmp_path: Path
) -> None:
    port, store = tmp_path / "port", str(tmp_path / "evening.db")
    with (
        ThreadPoolExecutor() as beside,
        Nano(workshop, workshop.newer, tmp_path, b"", eeprom()) as nano,
        Emulator(specimens.empty_socket().text, SEED, evening=True) as bench,
    ):
        calibrated = beside.submit(calibrates, pulldrop, store)
        with at_terminal(pulldrop, "quickstart", "--board", str(port), "--store", store) as person:
            person.reads("No board answers yet", "n or e")
            person.press("e")
            port.symlink_to(nano.port)
            goes_on(person, *(f"1.{at} of 5:" for at in range(1, 6)), *(f"2.{at} of 8:" for at in range(1, 7)))
            person.reads("2.7 of 8: USB alone", "f: write the firmware")
            person.press("f")
            person.reads("SIMULATED", "is written at", "verified", "and it answers", "Space: done, go on")
            assert nano.memories()[0].startswith(image.packaged())
            port.unlink()
            port.symlink_to(bench.port)
            person.press(" ")
            goes_on(person, "2.8 of 8: The modules", "3. The check")
            assert "[X]" not in person.reads("SIMULATED (emulated board)", "evening build", "The board is well")
            person.reads("4. The first load", "s: it was done before")
            person.press("s")
            goes_on(person, "5.1 of 2: The load itself")
            person.reads("5.2 of 2: Calibrate", "Space: done, go on")
            person.press(" ")
            bench.insert(specimens.find("good-12v-changeover").specimen)
            goes_on(person, "6. Put a relay")
            assert "uncalibrated" in agrees(person)
            assert len(turns_the_knob(person, bench)) >= 10, "up and on, down and on, twice, between two switches"
            assert person.ends() == 0
            assert re.search(r"\[\+\] PASS.*pass contact drop of 87 .*pass pull-in voltage", result(person))
        calibrated.result()
        bench.insert(specimens.find("burnt-no").specimen)
        with at_terminal(pulldrop, "test", "--ask", "--board", str(port), "--store", store) as person:
            assert "uncalibrated" not in agrees(person)
            person.reads("SIMULATED", "set the switch S4 to 'knob'", "leave pull-in and drop-out out")
            person.press("s")
            assert person.ends() == 1
            assert re.search(r"FAIL part .*fail contact drop of 87 \(NO\)", result(person))
