"""Two hundred runs over a faulty line and a faulty bench in the normal suite, twenty of them in the emulator."""

from collections.abc import Iterator

import faulted
import pytest
from faulted import BAD, GOOD, TACKING, Case, Seen

SEED, NATIVE, EMULATED = 7, 180, 20


@pytest.fixture(autouse=True)
def short(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Fewer undisturbed runs to compare with, and shorter runs."""
    monkeypatch.setattr(faulted, "BENCHES", 1)
    monkeypatch.setattr(faulted, "MAKES", 1)
    monkeypatch.setattr(faulted, "WHOLE_SHARE", 0.0)
    faulted.the_plan.cache_clear()
    yield
    faulted.the_plan.cache_clear()


def missed(done: list[tuple[Case, Seen]]) -> list[str]:
    return [str(goal) for goal in faulted.goals(done) if goal.state == "missed"]


@pytest.mark.slow
@pytest.mark.parametrize("half", [0, 1])
def test_no_trouble_makes_the_native_core_pass_wrongly_hang_or_stay_on(
    half: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each half on every other part, for each part costs undisturbed runs, too."""
    monkeypatch.setattr(faulted, "GOOD", GOOD[half::2])
    monkeypatch.setattr(faulted, "TACKING", TACKING[half::2])
    monkeypatch.setattr(faulted, "BAD", BAD[half::2])
    done = faulted.campaign(SEED + half, NATIVE // 2, jobs=1, emulated=0)
    assert missed(done) == []
    # and the campaign looked: whole runs of either kind, readings before and after, outputs that only the lease ended
    assert {seen.overall for _, seen in done} >= {"pass", "fail", "bench trouble", "host died"}
    assert len({index for one, _ in done for index in one.troubles}) > len(faulted.KINDS) / 2
    assert sum(seen.before for _, seen in done) > 100 and sum(seen.after for _, seen in done) > 100
    assert max(seen.late_s for _, seen in done) > 0.45


@pytest.mark.slow
def test_no_trouble_makes_the_compiled_firmware_pass_wrongly_hang_or_stay_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """On few parts, for each costs an undisturbed run more; the native core meets them all."""
    monkeypatch.setattr(faulted, "GOOD", GOOD[:1])
    monkeypatch.setattr(faulted, "TACKING", ())
    monkeypatch.setattr(faulted, "BAD", ("burnt-no", "open-coil", "welded-no"))
    done = faulted.campaign(SEED + 2, EMULATED, jobs=1, emulated=100)
    assert all(one.emulated for one, _ in done)
    assert missed(done) == []
    assert sum(seen.before for _, seen in done) > 30 and sum(seen.after for _, seen in done) > 10


@pytest.mark.parametrize(
    ("part", "seen", "goal"),
    [
        (BAD[0], Seen("pass"), "wrong passes"),
        (TACKING[0], Seen("checked without load"), "wrong passes"),
        (GOOD[0], Seen("fail"), "wrong fails"),
        (GOOD[0], Seen("hung"), "hung"),
        (GOOD[0], Seen("crashed"), "crashed"),
        (GOOD[0], Seen("host died", opens=False), "not opened again"),
        (GOOD[0], Seen("pass", before=3, wrong_before=1), "readings before the trouble that differ"),
        (GOOD[0], Seen("host died", late_s=0.51), "on after one trouble"),
        (GOOD[0], Seen("host died", supply_late_s=0.51), "coil supply on after one trouble"),
        (GOOD[0], Seen("host died", dac_late_s=0.51), "DAC after the bus is well"),
        (GOOD[0], Seen("host died", unreported=True), "DAC above zero and not reported"),
    ],
)
def test_what_goes_wrong_misses_its_goal(part: str, seen: Seen, goal: str) -> None:
    one = Case(0, part, 0, faulted.SHORT, False, (0,), 0.5)
    assert [line for line in missed([(one, seen)]) if line.startswith(goal)]
