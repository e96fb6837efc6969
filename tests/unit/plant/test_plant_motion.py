"""Long steps where little moves: they bring a part to where short ones do, at the same moment, and are far fewer."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from plant_steps import BASES, specimen

from pulldrop.plant.relay import motion
from pulldrop.plant.relay.armature import Change
from pulldrop.plant.relay.coil import Magnetics
from pulldrop.plant.relay.relay import NO, RelayModel
from pulldrop.plant.specimen import parts

STAIR_V, DWELL_S = 0.025, 0.02


@contextmanager
def short_steps_only(patch: pytest.MonkeyPatch) -> Iterator[None]:
    """With these limits no armature is slow enough to creep."""
    with patch.context() as now:
        for limit in ("CREEP_M_PER_S", "AGAIN_M_PER_S"):
            now.setattr(motion, limit, 0.0)
        yield


def walked_up(base: str, nominal_v: float, cut: int = 1) -> tuple[RelayModel, list[Change], set[str]]:
    """A staircase through pull-in; the part, its changes of touch and the ways in which it moved."""
    relay, changes, ways = RelayModel(parts(specimen(base=base, coil={"heating_k_per_w": 0.0})), 23.0), [], set[str]()
    volts = 0.45 * nominal_v
    relay.drive(volts, switch=True, diode=False)
    relay.advance(0.1)
    while not relay.touching[NO] and volts < nominal_v:
        volts += STAIR_V
        relay.drive(volts, switch=True, diode=False)
        start = relay.t
        for part in range(1, cut + 1):
            changes += relay.advance(start + DWELL_S * part / cut)
            ways.add(relay.mode)
    return relay, changes, ways


@pytest.mark.parametrize("base", BASES)
def test_an_armature_that_creeps_through_pull_in_arrives_as_with_short_steps(
    base: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    nominal_v = specimen(base=base).nominal_v
    relay, changes, _ = walked_up(base, nominal_v)
    with short_steps_only(monkeypatch):
        exact, expected, _ = walked_up(base, nominal_v)
    assert relay.feed == exact.feed
    assert [change[1:] for change in changes] == [change[1:] for change in expected]
    for (found, *_), (right, *_) in zip(changes, expected, strict=True):
        assert found == pytest.approx(right, abs=100e-6)


def test_creeping_may_be_cut_anywhere_and_goes_on_from_a_snapshot() -> None:
    whole, expected, _ = walked_up("mini_12v_changeover", 12.0)
    cut, found, ways = walked_up("mini_12v_changeover", 12.0, cut=137)
    assert "creep" in ways
    assert [change[1:] for change in found] == [change[1:] for change in expected]
    assert [change[0] for change in found] == pytest.approx([change[0] for change in expected], abs=1e-6)
    assert cut.i == pytest.approx(whole.i, abs=1e-6)


def test_an_armature_that_creeps_is_stepped_far_more_rarely(monkeypatch: pytest.MonkeyPatch) -> None:
    taken = []
    step = Magnetics.step

    def noted(coil: Magnetics, phi: float, i: float, gap: float, h: float, *fed: float) -> tuple[float, float]:
        taken.append(h)
        return step(coil, phi, i, gap, h, *fed)

    monkeypatch.setattr(Magnetics, "step", noted)
    walked_up("mini_12v_changeover", 12.0)
    long = len(taken)
    with short_steps_only(monkeypatch):
        walked_up("mini_12v_changeover", 12.0)
    assert long < 0.35 * (len(taken) - long)
