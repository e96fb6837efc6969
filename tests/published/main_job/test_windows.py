"""A maker's two-sided windows, filled with designs that nobody fitted: each goes through the whole test and passes.

Panasonic CM, micro ISO (data sheet ASCTB222E, READ in a distributor's copy): pick-up 3 to 7 V and drop-out 1.2 to 4.2 V
of 12 V, 6 to 14 V and 2.4 to 8.4 V of 24 V; coil 96 and 320 ohm +-10 %; operate and release 10 ms at most, bounce
excluded; all at 20 degC. The designs are of the second plant (tests/bench/diagnosing/designs), whose author had not
read the first; seeds held out. What lies in a window is known from that plant, and not from what the bench reads.
"""

import random
from dataclasses import dataclass, replace
from functools import cache

import pytest
from bench_run import reading, run
from designs import draw
from designs.part import SecondPart
from designs.second import figures
from makers_sheets import OWN

from pulldrop.model.part.rating import Rating
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.plant.relay.suppression import Suppression
from pulldrop.protocol.load import plan
from pulldrop.protocol.ratings.files import load_rating
from pulldrop.store import Store

SEED = 4261
PER_WINDOW, DRAWN = 4, 10
"""Parts that are tested, and designs within the window that they are chosen from: the outermost ones first."""
MARGIN = 0.03
"""Inside a window by this share, so that no reading is too near its end."""


@dataclass(frozen=True)
class Windows:
    """Volts and ohms of one sheet; times at most, s."""

    nominal_v: float
    pull_in: tuple[float, float]
    drop_out: tuple[float, float]
    ohm: float
    most_s: float = 10e-3


CM = (Windows(12.0, (3.0, 7.0), (1.2, 4.2), 96.0), Windows(24.0, (6.0, 14.0), (2.4, 8.4), 320.0))


def rated(nominal_v: float) -> Rating:
    """The sheet's other figures, of the type without a suppressor."""
    if nominal_v == 24.0:
        return load_rating(OWN / "panasonic-cm-24v-form-c.yaml")
    with_diode = load_rating(OWN / "panasonic-cm-12v-form-c-diode.yaml")
    return with_diode.model_copy(update={"suppression": "none", "release_most": 10e-3})


def inside(value: float, window: tuple[float, float]) -> bool:
    return window[0] * (1 + MARGIN) <= value <= window[1] * (1 - MARGIN)


@cache
def filling(windows: Windows) -> tuple[SecondPart, ...]:
    """Changeover parts within the windows: designs as they were drawn, their bobbins filled with wire of the sheet's
    ohms, so that their volts stay; one that then is too slow is left out."""
    made: list[SecondPart] = []
    chance = random.Random(f"{SEED}:{windows.nominal_v}")
    for number in range(400):
        if len(made) == DRAWN:
            break
        drawn = draw.design(SEED, number, 1.0, "C")
        if drawn.nominal_v != windows.nominal_v:
            continue
        ohm = windows.ohm * chance.uniform(0.92, 1.08)
        wire = ohm / drawn.design.winding.ohm
        winding = replace(drawn.design.winding, ohm=ohm, turns=drawn.design.winding.turns * wire)
        gap = replace(drawn.design.gap, winding_h=drawn.design.gap.winding_h * wire**2)
        design = replace(drawn.design, winding=winding, gap=gap)
        per_a = ohm / winding.turns
        times = figures.times(design, Suppression(), 20.0, windows.nominal_v)
        slow = not times or any(times[id] > windows.most_s * (1 - MARGIN) for id in ("operate_time", "release_time"))
        levels = figures.pull_in_a(design) * per_a, figures.drop_out_a(design) * per_a
        if slow or not inside(levels[0], windows.pull_in) or not inside(levels[1], windows.drop_out):
            continue
        given = {"title": "invented, of a design that nobody fitted", "form": "C", "nominal_v": windows.nominal_v}
        made.append(SecondPart.model_validate(given | {"temperature_c": 20.0, "design": design}))
    return tuple(_outermost(made))


def _outermost(parts: list[SecondPart]) -> list[SecondPart]:
    """Those with the lowest and the highest pull-in and drop-out, then others as they were drawn."""
    ends = [choose(parts, key=lambda one: _levels(one)[place]) for place in (0, 1) for choose in (min, max)]
    distinct = list({id(one): one for one in (*ends, *parts)}.values())
    return distinct[:PER_WINDOW]


CASES = [pytest.param(one, n, id=f"{one.nominal_v:g} V, part {n}") for one in CM for n in range(PER_WINDOW)]


@pytest.mark.slow
@pytest.mark.parametrize(("windows", "number"), CASES)
def test_a_design_within_the_makers_windows_passes_the_whole_test(windows: Windows, number: int, store: Store) -> None:
    record = run(plan("relay-full", rated(windows.nominal_v)), filling(windows)[number], store)
    assert record.verdict.overall is Overall.PASS, record.verdict
    assert not record.faults and record.verdict.unlike is None
    for id, window in (("pull_in_voltage_20c", windows.pull_in), ("drop_out_voltage", windows.drop_out)):
        assert window[0] < reading(record, id).number < window[1]
    assert not [one.id for one in record.judged if one.outcome in (Outcome.FAIL, Outcome.UNSURE)]


@pytest.mark.slow
@pytest.mark.parametrize("windows", CM, ids=lambda one: f"{one.nominal_v:g} V")
def test_the_designs_fill_the_windows_and_not_a_corner_of_them(windows: Windows) -> None:
    """Of what this plant can be: none whose drop-out lies in the upper third of its window is drawn."""
    found = [_levels(part) for part in filling(windows)]
    for place, least in ((0, 1.3), (1, 1.5)):
        values = [one[place] for one in found]
        assert max(values) > least * min(values)


def _levels(part: SecondPart) -> tuple[float, float]:
    per_a = part.design.winding.ohm / part.design.winding.turns
    return figures.pull_in_a(part.design) * per_a, figures.drop_out_a(part.design) * per_a
