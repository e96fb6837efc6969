"""Sound fuses and lamps: what is read of them holds the truth, on every build that can read it."""

import pytest
from on_bench import FUSE, LAMP, part, run_on

from pulldrop.measure.rig.warming import Warming
from pulldrop.model.part.kinds.two_terminal import TwoTerminalRating
from pulldrop.model.reading import NotTested
from pulldrop.model.verdict import Overall
from pulldrop.plant.pair.filament import AIR_K, Filament
from pulldrop.plant.pair.fuse import AIR_C, MELTS_C, Fuse, cold_mohm

BUILDS = ("virtual", "virtual-evening")


@pytest.mark.parametrize("board", BUILDS)
@pytest.mark.parametrize("amps", [10, 40])
def test_a_sound_fuse_passes_and_its_ohms_are_inside_their_uncertainty(amps: int, board: str) -> None:
    done = run_on(f"fuse-regular-{amps}a", part({**FUSE, "rated_a": float(amps)}), board)
    ohm = done.read("pair_resistance")
    assert abs(ohm.number - cold_mohm("regular", amps) * 1e-3) <= ohm.expanded_uncertainty < 0.12 * ohm.number
    assert (done.verdict.overall, done.faults) == (Overall.PASS, ())
    assert done.read("pair_drop").number == pytest.approx(10 * ohm.number, rel=0.03)


def test_a_drop_at_rated_current_is_worked_out_and_holds_the_hot_one() -> None:
    hot = run_on("fuse-regular-40a", part({**FUSE, "rated_a": 40.0})).read("pair_drop_hot")
    assert abs(hot.number - 0.096) <= hot.expanded_uncertainty, "96 mV by a maker's sheet"
    assert [one.text for one in hot.conditions if one.name == "method"] == ["worked out"]


def test_a_small_fuse_gets_a_small_load_or_none() -> None:
    small = part({**FUSE, "rated_a": 3.0})
    loaded = run_on("fuse-regular-3a", small).read("pair_resistance")
    assert [one.value for one in loaded.conditions if one.name == "load"] == [1.0]
    on_evening = run_on("fuse-regular-3a", small, "virtual-evening")
    reason = on_evening.found["pair_resistance"]
    assert isinstance(reason, NotTested) and "too much for a fuse of 3 A" in reason.reason
    assert on_evening.verdict.overall is Overall.INCOMPLETE


@pytest.mark.parametrize("rated_a", [3.5, 5.0, 10.0])
def test_no_pulse_comes_near_to_melting_a_fuse(rated_a: float) -> None:
    fuse, celsius = Fuse("regular", rated_a), AIR_C
    for _ in range(8):
        celsius = fuse.warmed(fuse.warmed(celsius, 10.5, 0.014), 0.0, 0.5)
        assert celsius < AIR_C + 0.15 * (MELTS_C - AIR_C)


@pytest.mark.parametrize("board", BUILDS)
@pytest.mark.parametrize(("volts", "watts", "hot_k"), [(12.0, 5, 2550.0), (12.0, 21, 2780.0), (24.0, 21, 2780.0)])
def test_a_sound_lamp_passes_and_its_current_is_inside_its_uncertainty(
    volts: float, watts: int, hot_k: float, board: str
) -> None:
    given = {"component": "lamp", "volts": volts, "amps": watts / volts, "hot_k": hot_k}
    done = run_on(f"lamp-bus-{volts:.0f}v-{watts}w", part(given), board)
    current = done.read("lamp_current")
    assert abs(current.number - watts / volts) <= current.expanded_uncertainty < 0.2 * current.number
    assert done.verdict.overall is Overall.PASS and not done.faults
    assert done.read("lamp_power").number == pytest.approx(volts * current.number)
    assert done.bench_s < 6


def test_too_few_volts_across_a_lamp_are_no_power() -> None:
    rating = TwoTerminalRating.model_validate(
        {"rating": "mains", "title": "invented", "source": "assumed: invented", "kind": "two-terminal"}
        | {"component": "lamp", "nominal": "230 V", "current": "900 mA", "tolerance": "30 %"}
    )
    done = run_on(rating, part({"component": "lamp", "volts": 230.0, "amps": 0.9}))
    power = done.found["lamp_power"]
    assert isinstance(power, NotTested) and "what it takes at 230 V" in power.reason
    assert done.verdict.overall is Overall.INCOMPLETE and not done.faults


def test_a_filament_that_still_warms_is_followed_to_where_it_comes_to_rest() -> None:
    lamp, most_v, series_ohm = Filament(12.0, 1.75, 2780.0), 3.5, 1.2
    kelvin = [lamp.warmed(AIR_K, 12.0, series_ohm, at_s, most_v) for at_s in (0.215, 0.445)]
    found = Warming(lamp.cold_ohm, most_v, 12.0, series_ohm).left(
        (0.215, 0.445), (kelvin[0] / AIR_K, kelvin[1] / AIR_K)
    )
    truth = lamp.amps_at(most_v) / (most_v / lamp.ohm(kelvin[1]))
    assert truth < 0.9 and found == pytest.approx(truth, rel=0.05)


@pytest.mark.parametrize("given", [FUSE, LAMP])
def test_a_bare_board_says_whether_it_conducts_and_never_passes_it(given: dict[str, object]) -> None:
    rating = "fuse-regular-10a" if given is FUSE else "lamp-bus-12v-21w"
    assert run_on(rating, part(given), "virtual-bare").verdict.overall is Overall.WITHOUT_LOAD
    blown = run_on(rating, part(given, open=True), "virtual-bare")
    assert blown.verdict.overall is Overall.FAIL and "open" in blown.verdict.means
