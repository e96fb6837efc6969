"""Everything that goes wrong at a bench, each of it a few lines: on the line, on the board, on its bus, on its wires.

Rule: a trouble is a function of its chance that gives what to do when its request comes; nothing else knows of it.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass

from broken_bench import wires
from faulty_line.port import Bytes, FaultyPort

from pulldrop.emulator.i2c_parts import Ads1115, Ina226
from pulldrop.emulator.machine import EDGES
from pulldrop.wire.messages import FRAME_DELIMITER

WIRE = "wire"
"""No sound part is held to pass under it: without the wire of a coil every coil is open, as the self-test finds."""
Begin = Callable[[FaultyPort], None]
DELIMITER_SHARE = 0.4
"""Of flipped bits that strike a delimiter."""


@dataclass(frozen=True)
class Trouble:
    """A kind of trouble. `ends`: it calls `FaultyPort.end` when it strikes."""

    name: str
    make: Callable[[random.Random], Begin]
    ends: bool = False


# --- one frame, either way ---


def at(data: bytes, chance: random.Random) -> int:
    """A place in the bytes, delimiters more often."""
    marks = [i for i, byte in enumerate(data) if byte == FRAME_DELIMITER]
    return chance.choice(marks) if marks and chance.random() < DELIMITER_SHARE else chance.randrange(len(data))


def flip(data: bytes, chance: random.Random) -> bytes:
    i = at(data, chance)
    return data[:i] + bytes([data[i] ^ 1 << chance.randrange(8)]) + data[i + 1 :]


def flip_more(data: bytes, chance: random.Random) -> bytes:
    for _ in range(chance.randint(2, 5)):
        data = flip(data, chance)
    return data


def drop(data: bytes, chance: random.Random) -> bytes:
    i = at(data, chance)
    return data[:i] + data[i + 1 :]


def double(data: bytes, chance: random.Random) -> bytes:
    i = at(data, chance)
    return data[: i + 1] + data[i:]


def swap(data: bytes, chance: random.Random) -> bytes:
    i = at(data, chance)
    return data[:i] + data[i : i + 2][::-1] + data[i + 2 :]


def burst(data: bytes, chance: random.Random) -> bytes:
    i = at(data, chance)
    noise = chance.randbytes(chance.randint(1, 20))
    return data[:i] + noise + (data[i:] if chance.random() < 0.5 else data[i + len(noise) :])


def twice(data: bytes, chance: random.Random) -> bytes:
    return data + data


def nothing(data: bytes, chance: random.Random) -> bytes:
    return b""


def once(damage: Callable[[bytes, random.Random], bytes]) -> Callable[[random.Random], Begin]:
    """A trouble that damages the next bytes, to the board or to the host."""

    def make(chance: random.Random) -> Begin:
        to_host = chance.random() < 0.5

        def begin(port: FaultyPort) -> None:
            changes = port.to_host if to_host else port.to_board

            def change(data: bytes) -> bytes:
                if not data:
                    return data
                changes.remove(change)
                return damage(data, chance)

            changes.append(change)

        return begin

    return make


def again_later(chance: random.Random) -> Begin:
    """The same request comes once more, up to 0.4 s later."""
    wait_s = chance.uniform(0.0, 0.4)

    def begin(port: FaultyPort) -> None:
        def change(data: bytes) -> bytes:
            port.to_board.remove(change)
            port.after(wait_s, lambda: void(port.machine.receive(data)))
            return data

        port.to_board.append(change)

    return begin


def void(_: object) -> None:
    """For a call whose answer nobody wants."""


# --- the line for a while ---


def for_a_while(
    begin: Callable[[FaultyPort, random.Random], Bytes], to_host: bool, most_s: float
) -> Callable[[random.Random], Begin]:
    """Change all bytes of one way for up to so long, or for ever."""

    def make(chance: random.Random) -> Begin:
        seconds = chance.choice([chance.uniform(0.0, most_s), 1e9])

        def started(port: FaultyPort) -> None:
            changes = port.to_host if to_host else port.to_board
            change = begin(port, chance)
            changes.append(change)
            port.after(seconds, lambda: changes.remove(change))

        return started

    return make


def echo_to_board(port: FaultyPort, chance: random.Random) -> Bytes:
    """What the board sends comes back to it as well."""

    def change(data: bytes) -> bytes:
        port.machine.receive(data)
        return data

    return change


def echo_to_host(port: FaultyPort, chance: random.Random) -> Bytes:
    """What the host sends comes back to it as well."""

    def change(data: bytes) -> bytes:
        port.hear(data)
        return data

    return change


def noisy(port: FaultyPort, chance: random.Random) -> Bytes:
    """One byte in fifty is wrong."""
    return lambda data: bytes(b ^ (chance.randrange(1, 256) if chance.random() < 0.02 else 0) for b in data)


def deaf(port: FaultyPort, chance: random.Random) -> Bytes:
    """Nothing comes through."""
    return lambda data: b""


def late(chance: random.Random) -> Begin:
    """A bridge that hands on what it has every 16 ms, from now on."""

    def begin(port: FaultyPort) -> None:
        def change(data: bytes) -> bytes:
            port.after(0.016, lambda: port.hear(data))
            return b""

        port.to_host.append(change)

    return begin


# --- host and cable ---


def host_dies(chance: random.Random) -> Begin:
    return FaultyPort.die


def host_dies_and_line_echoes(chance: random.Random) -> Begin:
    """Nobody is there but the board's own words, which come back to it."""

    def begin(port: FaultyPort) -> None:
        port.to_host.append(echo_to_board(port, chance))
        port.after(chance.uniform(0.0, 0.01), port.die)

    return begin


def unplugged(chance: random.Random) -> Begin:
    return FaultyPort.unplug


# --- the board ---


def reset(chance: random.Random) -> Begin:
    wait_s = chance.uniform(0.0, 0.05)
    return lambda port: port.after(wait_s, lambda: restart(port))


def restart(port: FaultyPort) -> None:
    """The board begins again, with everything off."""
    port.end()
    port.machine.reset()


def stop_pressed(chance: random.Random) -> Begin:
    wait_s, held_s = chance.uniform(0.0, 0.05), chance.choice([chance.uniform(0.01, 0.5), 1e9])

    def begin(port: FaultyPort) -> None:
        port.after(wait_s, lambda: void((port.end(), port.machine.open_stop(True))))
        port.after(wait_s + held_s, lambda: port.machine.open_stop(False))

    return begin


def brown_out_in_a_write(chance: random.Random) -> Begin:
    """A reset, and in the count of boots that follows one more, by a brown-out that spoils the byte in hand."""
    byte = chance.randint(1, 4)

    def begin(port: FaultyPort) -> None:
        spoil = getattr(port.machine.chip, "spoil", None)
        if spoil:
            spoil(byte)
        restart(port)
        if not spoil:
            port.after(byte * 0.0034, lambda: restart(port))

    return begin


def storm(chance: random.Random) -> Begin:
    """Noise on contact pins, an edge every 4 us to 1 ms, evenly or at random: once for up to 1.5 s, or as sparks that
    come every 10 to 60 ms for the rest of the run. It begins up to 60 ms after the request, where steps have windows.
    """
    pins = chance.choice((*((pin,) for pin in EDGES), EDGES))
    gap_us, random_too = 4 * 250 ** chance.random(), chance.random() < 0.5
    wait_s, period_s = chance.uniform(0.0, 0.06), chance.uniform(0.01, 0.06)
    again = chance.random() < 0.5
    seconds = chance.choice([0.001, 0.002, 0.005] if again else [0.002, 0.005, 0.02, 0.1, 1.5])

    def strike(port: FaultyPort) -> None:
        for pin in pins:
            port.machine.storm(pin, gap_us, seconds, chance if random_too else None)
        if again:
            port.after(period_s * chance.uniform(0.97, 1.03), lambda: strike(port))

    return lambda port: port.after(wait_s, lambda: strike(port))


def pulses(chance: random.Random) -> Begin:
    """Single pulses on a contact's pin, as of a switch nearby: each 20 us to 5 ms long, one every 30 to 300 ms."""
    pin, long_us = chance.choice(EDGES), 20 * 250 ** chance.random()
    wait_s, period_s = chance.uniform(0.0, 0.06), 0.03 * 10 ** chance.random()

    def strike(port: FaultyPort) -> None:
        port.machine.storm(pin, long_us, 3.1e-6 * long_us)
        port.after(period_s * chance.uniform(0.8, 1.2), lambda: strike(port))

    return lambda port: port.after(wait_s, lambda: strike(port))


def with_host_dead(other: Callable[[random.Random], Begin]) -> Callable[[random.Random], Begin]:
    """Two at once: that, and the host's death."""

    def make(chance: random.Random) -> Begin:
        begins = (other(chance), host_dies(chance))
        return lambda port: void([begin(port) for begin in begins])

    return make


def wire_broken(chance: random.Random) -> Begin:
    """A wire of the bench comes off, or touches its neighbour."""
    name, wait_s = chance.choice(wires.names()), chance.uniform(0.0, 0.05)
    return lambda port: port.after(wait_s, lambda: port.machine.break_wires(wires.effect(name)))


# --- the bus ---


def bus_held(chance: random.Random) -> Begin:
    seconds = chance.choice([chance.uniform(0.0, 0.02), chance.uniform(0.0, 1.0), 1e9])

    def begin(port: FaultyPort) -> None:
        port.machine.hold_bus(True)
        port.after(seconds, lambda: port.machine.hold_bus(False))

    return begin


def part_lost(chance: random.Random) -> Begin:
    place, seconds = chance.randrange(5), chance.choice([chance.uniform(0.0, 0.5), 1e9])

    def begin(port: FaultyPort) -> None:
        port.machine.fit(place, False)
        port.after(seconds, lambda: port.machine.fit(place, True))

    return begin


def part_stuck(chance: random.Random) -> Begin:
    """A converter that never ends what it is at, from now on."""
    kind = chance.choice((Ads1115, Ina226))

    def begin(port: FaultyPort) -> None:
        part = next(part for part in port.machine.parts.values() if type(part) is kind)
        taken = part.written

        def written(register: int, value: int, cycle: int) -> None:
            taken(register, value, cycle)
            part.due = None

        part.written = written  # type: ignore[method-assign]

    return begin


def part_restarted(chance: random.Random) -> Begin:
    """A converter forgets what it was told, and reads 0 until it is told again."""
    wait_s = chance.uniform(0.0, 0.05)

    def forget(port: FaultyPort) -> None:
        part = next(part for part in port.machine.parts.values() if type(part) is Ads1115)
        part.written(1, Ads1115.SINGLE_BIT | 0x0483, 0)
        port.machine.chip.set_register(part._index, 0, 0)

    return lambda port: port.after(wait_s, lambda: forget(port))


KINDS = (
    *(Trouble(made.__name__, once(made)) for made in (flip, flip_more, drop, double, swap, burst, twice, nothing)),
    Trouble("again later", again_later),
    Trouble("echo to the board", for_a_while(echo_to_board, True, 1.0)),
    Trouble("echo to the host", for_a_while(echo_to_host, False, 1.0)),
    Trouble("noise to the board", for_a_while(noisy, False, 1.0)),
    Trouble("noise to the host", for_a_while(noisy, True, 1.0)),
    Trouble("deaf board", for_a_while(deaf, False, 1.0)),
    Trouble("deaf host", for_a_while(deaf, True, 1.0)),
    Trouble("late answers", late),
    Trouble("host dies", host_dies, ends=True),
    Trouble("host dies, line echoes", host_dies_and_line_echoes, ends=True),
    Trouble("host dies in a storm of edges", with_host_dead(storm), ends=True),
    Trouble("unplugged", unplugged, ends=True),
    Trouble("reset", reset, ends=True),
    Trouble("stop", stop_pressed, ends=True),
    Trouble("brown-out in an EEPROM write", brown_out_in_a_write, ends=True),
    Trouble("storm of edges", storm),
    Trouble("pulses at a contact's pin", pulses),
    Trouble(WIRE, wire_broken),
    Trouble("bus held", bus_held),
    Trouble("part lost", part_lost),
    Trouble("part stuck", part_stuck),
    Trouble("part restarted", part_restarted),
)
