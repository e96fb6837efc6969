"""The campaign about sockets says the same of the same seed, finds planted faults, and counts what it should."""

from circuits import drawn
from sockets import one_circuit, wrong

from pulldrop.judge.socket.table import ORDER


def test_a_circuit_is_drawn_the_same_again() -> None:
    assert drawn(3, 7) == drawn(3, 7)
    assert drawn(3, 7).car != drawn(3, 8).car


def test_most_of_thirty_circuits_are_told_right_and_no_broken_leg_is_called_good() -> None:
    lines = [one_circuit(3, number) for number in range(30)]
    assert sum(wrong(line) for line in lines) <= 2
    kinds = {line.case.kind.partition(":")[0] for line in lines}
    assert {"sound", "feed", "ground", "trigger", "load"} <= kinds
    for line in lines:
        for one in line.found.legs:
            assert not (line.case.broken(one.leg, 2.0) and one.state in ("good", "worth cleaning")), line.case.kind


def test_a_sound_circuit_loses_little_and_a_blown_fuse_everything() -> None:
    cases = [drawn(4, number) for number in range(40)]
    assert all(not case.broken(leg) for case in cases if case.kind == "sound" for leg in ORDER)
    assert all(case.broken("feed", 2.0) for case in cases if "blown" in case.kind)
