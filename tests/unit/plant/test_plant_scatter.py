"""From make to make: what a sound part does a little differently every time, and what stays the same."""

from statistics import mean, stdev

from plant_steps import specimen, switched

from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.relay.relay import NC, NO

MAKES = 12


def figures(seed: int | None) -> dict[str, list[float]]:
    """Times of a dozen makes and breaks of one part, in ms."""
    bench, found = Bench(specimen(), seed), []
    for _ in range(MAKES):
        made, broke = switched(bench, True, 13.5), switched(bench, False, 13.5)
        found.append((made.operate_ms, made.bounce_ms(NO), broke.first(NC, True) or 0.0, broke.bounce_ms(NC)))
    return dict(zip(("operate", "bounce NO", "release", "bounce NC"), map(list, zip(*found, strict=True)), strict=True))


def test_times_and_bounces_scatter_from_make_to_make() -> None:
    for name, times in figures(7).items():
        share = stdev(times) / mean(times)
        assert 0.0005 < share < 0.25, name
        if "bounce" in name:
            assert share > 0.002, name


def test_without_a_seed_every_make_is_the_same() -> None:
    for times in figures(None).values():
        assert stdev(times[1:]) < 2e-3 * mean(times)
