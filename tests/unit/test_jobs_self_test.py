"""The bench tests itself with an empty socket, and notices each thing that can be wrong with it."""

from contextlib import suppress
from dataclasses import replace

import pytest

from pulldrop.board.contract import Analog, Drive, Pulse, Status
from pulldrop.board.errors import BoardLost, Refused
from pulldrop.board.virtual import VirtualBoard
from pulldrop.jobs import specimens
from pulldrop.jobs.self_test import Check, self_test
from pulldrop.model.calibration import nominal
from pulldrop.model.raw import CoilCounts, PulseCounts


class Bench(VirtualBoard):
    """A virtual board with one planted fault; remembers what was driven."""

    def __init__(self, part: str = "", seed: int | None = 1, **fault: object) -> None:
        super().__init__((specimens.find(part) if part else specimens.empty_socket()).specimen, seed)
        self.fault = fault
        self.driven: list[Drive] = []

    def status(self) -> Status:
        return replace(super().status(), emergency_stop=True) if "stop" in self.fault else super().status()

    def hold_coil(self, drive: Drive) -> None:
        self.driven.append(drive)
        super().hold_coil(drive)

    def sense_coil(self) -> CoilCounts:
        counts = super().sense_coil()
        if "no_ina" in self.fault:
            raise Refused("bus", "INA226: no answer")
        return CoilCounts(bus=round(counts.bus * self.fault.get("bus", 1.0)), shunt=counts.shunt)  # type: ignore[operator]

    def sense_analog(self, channel: Analog) -> int:
        planted = self.fault.get(channel.name.lower())
        return planted if isinstance(planted, int) else super().sense_analog(channel)

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        if "no_ads" in self.fault:
            raise Refused("bus", "ADS1115: no answer")
        counts = super().load_pulse(pulse)
        return counts.model_copy(update={"shunt": (900,) * len(counts.shunt)}) if "shunt" in self.fault else counts


def checked(bench: Bench) -> dict[str, Check]:
    return {check.title: check for check in self_test(bench, nominal(0))}


def wrong(bench: Bench) -> set[str]:
    return {title for title, check in checked(bench).items() if check.state == "wrong"}


@pytest.mark.parametrize("seed", range(1, 21))
def test_every_sound_bench_is_well(seed: int) -> None:
    assert wrong(Bench(seed=seed)) == set()


@pytest.mark.parametrize(
    ("fault", "named"),
    [
        ({"bus": 0.7}, {"coil supply at 3 V", "coil supply at 12 V"}),
        ({"bus": 1.3}, {"coil supply at 3 V", "coil supply at 12 V"}),
        ({"no_ina": True}, {"coil supply at 3 V", "coil supply at 12 V"}),
        ({"no_ads": True}, {"contact converter"}),
        ({"shunt": True}, {"contact converter"}),
        ({"bench_temperature": 0}, {"bench temperature"}),
        ({"bench_temperature": 16_368}, {"bench temperature"}),
        ({"coil_current": 16 * 30}, {"coil current zero"}),
        ({"load_supply": 16 * 400}, {"load supply"}),
    ],
    ids=lambda planted: str(planted) if isinstance(planted, dict) else "",
)
def test_a_planted_fault_is_named_and_nothing_else(fault: dict[str, object], named: set[str]) -> None:
    assert wrong(Bench(**fault)) == named


def test_a_missing_load_supply_is_noted_and_no_fault() -> None:
    check = checked(Bench(load_supply=0))["load supply"]
    assert check.state == "noted"
    assert "never a pass" in check.found


def test_with_the_emergency_stop_pressed_nothing_is_energised() -> None:
    bench = Bench(stop=True)
    assert wrong(bench) == {"emergency stop"}
    assert bench.driven == []


@pytest.mark.parametrize("part", ["good-12v-changeover", "good-24v-changeover", "good-12v-normally-open"])
def test_a_part_in_the_socket_is_noticed_and_never_energised(part: str) -> None:
    bench = Bench(part)
    assert "coil socket" in wrong(bench)
    assert not any(drive.on for drive in bench.driven)


def test_a_part_with_an_open_coil_is_noticed_by_its_contacts() -> None:
    assert wrong(Bench("open-coil")) == {"contact socket"}


def test_everything_is_off_at_the_end_whatever_happens() -> None:
    class Unplugged(Bench):
        def sense_coil(self) -> CoilCounts:
            raise BoardLost("unplugged")

    for bench in (Bench(), Unplugged()):
        with suppress(BoardLost):
            list(self_test(bench, nominal(0)))
        assert not bench.status().on
