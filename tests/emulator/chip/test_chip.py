"""The shim alone, asked by a tiny program: what it mends of simavr, and that it stops where it says."""

from itertools import pairwise
from pathlib import Path
from statistics import fmean, pstdev

import pytest
from desk import Probe

from pulldrop.emulator.chip import CLOCK_HZ, Chip, ChipPort, Happening, Level
from pulldrop.emulator.errors import EmulatorError

ADS, DAC, NOBODY = 0x48, 0x60, 0x50


def test_bytes_come_back_over_the_line_at_its_own_speed(probe: Probe) -> None:
    assert probe.ask(b"eZ") == b"Z"
    probe.chip.receive(b"?" * 30)
    probe.run(0.58)
    early = len(probe.chip.sent())
    probe.run(3)
    late = len(probe.chip.sent())
    assert 22 <= early <= 28, "30 bytes of 10 or 11 bits at 500 kbaud take 0.60 to 0.66 ms"
    assert early + late == 30


@pytest.mark.parametrize("code", [0, 1, 511, 512, 700, 1022, 1023])
def test_a_pin_gives_the_code_of_a_1024_step_converter(probe: Probe, code: int) -> None:
    for channel in (0, 6, 7):
        probe.chip.set_wave(channel, 0, 0, [(code + 0.5) * 5 / 1024])
        assert probe.ask_numbers(bytes([ord("a"), channel])) == [code]


def test_each_conversion_of_a_wave_has_noise_of_its_own(probe: Probe) -> None:
    probe.chip.set_wave(0, 0, 0, [512.5 * 5 / 1024])
    probe.chip.set_noise(2 * 5 / 1024, seed=1)
    codes = [probe.ask_numbers(b"a\x00")[0] for _ in range(300)]
    assert fmean(codes) == pytest.approx(512, abs=0.4)
    assert pstdev(codes) == pytest.approx(2, rel=0.15)
    assert pstdev(b - a for a, b in pairwise(codes)) == pytest.approx(2 * 2**0.5, rel=0.15)


def test_the_converter_samples_when_the_conversion_starts(probe: Probe) -> None:
    probe.chip.set_wave(0, probe.chip.cycle, CLOCK_HZ // 10_000, [0.0, 5.0])  # 5 V in 100 us
    (code,) = probe.ask_numbers(b"a\x00")
    assert 44 < code * 100 / 1024 < 55, "microseconds: two bytes of 22 on the line, and a few to start"


def test_a_channel_that_is_asked_for_stops_the_run_at_its_conversion(probe: Probe) -> None:
    probe.chip.ask(6)
    probe.chip.receive(b"a\x06")
    happened = probe.chip.run(probe.chip.cycle + CLOCK_HZ)
    assert happened == Happening.CONVERSION
    assert probe.chip.asked == 6
    probe.chip.set_volts(6, 1.234)
    assert probe.ask_numbers(b"") == [252]


def test_volts_given_ahead_are_converted_in_the_next_run_alone_and_end_it_not(probe: Probe) -> None:
    probe.chip.ask(6)
    probe.chip.set_ahead(6, [1.234, 2.5])
    probe.chip.receive(b"a\x06a\x06")
    assert probe.chip.run(probe.chip.cycle + CLOCK_HZ // 100) == Happening.REACHED
    assert probe.ask_numbers(b"") == [252, 512]
    probe.chip.set_ahead(6, [1.234])
    probe.chip.run(probe.chip.cycle + 100)
    probe.chip.receive(b"a\x06")
    assert probe.chip.run(probe.chip.cycle + CLOCK_HZ) == Happening.CONVERSION, "what a run leaves is forgotten"


def test_a_scheduled_edge_is_captured_to_one_tick(probe: Probe) -> None:
    probe.chip.set_input(ChipPort.B, 0, True)
    probe.ask(b"s")
    at = probe.chip.cycle + 1000
    offsets = [0, 801, 1603, 24_010]
    probe.chip.schedule([Level(at + o, ChipPort.B, 0, bool(i % 2)) for i, o in enumerate(offsets)])
    probe.run(2)
    count, *stamps = probe.ask(b"s")
    numbers = [int.from_bytes(bytes(stamps[i : i + 2]), "little") for i in range(0, len(stamps), 2)]
    assert count == 4
    assert [abs((n - numbers[0]) - o / 8) <= 1 for n, o in zip(numbers, offsets, strict=True)] == [True] * 4


def test_a_pin_change_is_seen_within_three_microseconds(probe: Probe) -> None:
    probe.chip.set_input(ChipPort.D, 7, True)
    probe.run(1)
    probe.ask(b"s")
    at = probe.chip.cycle + 8000
    probe.chip.schedule([Level(at, ChipPort.D, 7, False), Level(at + 8000, ChipPort.D, 7, True)])
    probe.run(2)
    count, *stamps = probe.ask(b"s")
    first, second = (int.from_bytes(bytes(stamps[i : i + 2]), "little") for i in (0, 2))
    assert count == 2
    assert abs(second - first - 1000) <= 1


def test_edges_that_are_replaced_do_not_come(probe: Probe) -> None:
    probe.chip.set_input(ChipPort.B, 0, True)
    probe.ask(b"s")
    probe.chip.schedule([Level(probe.chip.cycle + 8000, ChipPort.B, 0, False)])
    probe.chip.schedule([])
    probe.run(2)
    assert probe.ask(b"s") == b"\x00"
    assert probe.chip.level(ChipPort.B, 0)


def test_a_run_ends_at_the_instruction_that_drives_a_pin(probe: Probe) -> None:
    probe.chip.receive(b"b\x02")
    began = probe.chip.cycle
    assert probe.chip.run(began + CLOCK_HZ) == Happening.OUTPUTS
    assert probe.chip.outputs == 0x02
    assert probe.chip.cycle - began < 1000, "two bytes on the line take 704 cycles"


def test_an_input_keeps_its_level_through_writes_to_its_port(probe: Probe) -> None:
    probe.chip.set_input(ChipPort.B, 0, True)
    assert probe.ask(b"b\x02") == b"\x03"
    probe.chip.set_input(ChipPort.B, 0, False)
    assert probe.ask(b"b\x03") == b"\x02", "the pull-up of PB0 does not overcome a closed contact"


def test_an_absent_part_does_not_acknowledge(probe: Probe) -> None:
    assert probe.ask(bytes([ord("w"), NOBODY, 1, 0])) == bytes([0x08, 0x20, 0x30])
    assert probe.ask(bytes([ord("r"), NOBODY, 0]))[:2] == bytes([0x08, 0x48])


def test_a_part_keeps_its_registers_behind_a_pointer(probe: Probe) -> None:
    probe.chip.set_part(0, ADS)
    probe.chip.set_register(0, 3, 0x7FFE)
    assert probe.ask(bytes([ord("w"), ADS, 1, 3])) == bytes([0x08, 0x18, 0x28])
    assert probe.ask(bytes([ord("r"), ADS, 2]))[:6] == bytes([0x08, 0x40, 0x50, 0x7F, 0x58, 0xFE])


def test_a_word_written_to_a_part_ends_the_run_at_its_last_byte(probe: Probe) -> None:
    probe.chip.set_part(0, ADS)
    probe.chip.receive(bytes([ord("w"), ADS, 3, 1, 0xC3, 0xE3]))
    assert probe.chip.run(probe.chip.cycle + CLOCK_HZ) == Happening.BUS_WORD
    (word,) = probe.chip.words()
    assert (word.address, word.register, word.value) == (ADS, 1, 0xC3E3)
    assert 0 <= probe.chip.cycle - word.cycle < 4


def test_a_flag_goes_off_when_its_register_is_read(probe: Probe) -> None:
    probe.chip.set_part(0, ADS)
    probe.chip.set_register(0, 0, 0x0408, cleared_by_reading=0x0008)
    assert probe.ask(bytes([ord("r"), ADS, 2]))[:6] == bytes([0x08, 0x40, 0x50, 0x04, 0x58, 0x08])
    assert probe.ask(bytes([ord("r"), ADS, 2]))[:6] == bytes([0x08, 0x40, 0x50, 0x04, 0x58, 0x00])


def test_a_fast_write_is_a_word_of_two_bytes_and_a_read_gives_the_answer(probe: Probe) -> None:
    probe.chip.set_part(2, DAC, pairs=True)
    probe.chip.set_answer(2, b"\xc0\x73\x30")
    probe.ask(bytes([ord("w"), DAC, 4, 0x07, 0x33, 0x01, 0x02]))
    assert [(w.register, w.value) for w in probe.chip.words()] == [(0, 0x733), (0, 0x102)]
    probe.ask(bytes([ord("w"), DAC, 3, 0x60, 0x12, 0x30]))
    assert [(w.register, w.value) for w in probe.chip.words()] == [(0x60, 0x1230)]
    assert probe.ask(bytes([ord("r"), DAC, 3]))[3:8:2] == b"\xc0\x73\x30"


def test_a_byte_on_the_bus_takes_22_microseconds_at_400_khz(probe: Probe) -> None:
    probe.chip.set_part(2, DAC, pairs=True)
    probe.chip.set_answer(2, bytes(5))
    took = {}
    for count in (1, 5):
        said = probe.ask(bytes([ord("r"), DAC, count]))
        took[count] = int.from_bytes(said[-2:], "little") / 2
    assert 22.5 <= (took[5] - took[1]) / 4 <= 27, "nine bits of 2.5 us, and a few instructions between"


def test_a_held_bus_ends_no_transfer_until_it_is_let_go(probe: Probe) -> None:
    probe.chip.set_part(0, ADS)
    probe.chip.hold_bus(True)
    assert probe.ask(bytes([ord("w"), ADS, 1, 0]), ms=20) == bytes(3)
    probe.chip.hold_bus(False)
    assert probe.ask(bytes([ord("w"), ADS, 1, 0])) == bytes([0x08, 0x18, 0x28])


def test_power_on_the_watchdog_and_the_button_are_told_apart(probe: Probe) -> None:
    assert probe.ask(b"m") == b"\x01"
    began = probe.chip.cycle
    probe.chip.receive(b"h")
    (restarted,) = [cycle for happened, cycle in probe.run(300) if happened & Happening.RESTARTED]
    assert 0.256 < (restarted - began) / CLOCK_HZ < 0.257, "32,768 cycles of 128 kHz"
    assert probe.ask(b"m") == b"\x08"
    probe.chip.reset()
    probe.run(1)
    assert probe.ask(b"m") == b"\x02"


def test_a_reset_lets_go_of_all_outputs_and_keeps_the_inputs(probe: Probe) -> None:
    probe.chip.set_input(ChipPort.B, 0, True)
    probe.ask(b"b\x02")
    assert probe.chip.outputs == 0x02
    probe.chip.reset()
    assert probe.chip.outputs == 0
    probe.run(1)
    assert probe.ask(b"b\x00") == b"\x01"


def test_a_bootless_file_is_refused_with_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(EmulatorError, match="make -C firmware"):
        Chip(tmp_path / "nothing.elf")


def test_two_equal_runs_are_equal_to_the_cycle(probe_elf: Path) -> None:
    def course() -> list[tuple[Happening, int]]:
        probe = Probe(Chip(probe_elf, watched=0x26))
        probe.chip.receive(b"b\x02a\x00b\x00")
        ends = probe.run(10)
        probe.chip.close()
        return ends

    assert course() == course()
