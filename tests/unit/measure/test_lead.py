"""The vehicle lead's readings lie within their uncertainty, and a levelling names what is open in it."""

import random
from dataclasses import replace

import pytest
from making import circuit

from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.measure.lead import LeadRig, LeadTrouble
from pulldrop.model.vehicle.lead import CLIPS
from pulldrop.model.vehicle.socket import Value
from pulldrop.plant.vehicle import stock
from pulldrop.plant.vehicle.lead import Broken, Placement
from pulldrop.plant.vehicle.vehicle import Vehicle
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

VAN = fit(parse(stock.text("depot-van-3"), "depot van 3"), Vehicle)
WHOLE = circuit.load("lead")
POSTS = {"plus": "plus", "minus": VAN.minus}


def on(post: str) -> Placement:
    return Placement(clips={**{f"X{n}": POSTS[post] for n in range(1, 6)}, "X6": VAN.minus})


def levelled(board: LeadBoard) -> LeadRig:
    rig, lead = LeadRig(board), board.plant.lead
    lead.place(on("plus"), board.elapsed())
    board.wait(0.05)
    rig.level_on_plus()
    lead.place(on("minus"), board.elapsed())
    board.wait(0.05)
    rig.level_on_minus()
    return rig


def within(found: Value, truth: float) -> bool:
    return abs(found.value - truth) <= 2 * found.u


@pytest.mark.parametrize("level", [False, True])
def test_true_volts_lie_within_two_standard_uncertainties(level: bool) -> None:
    """Rectangular parts: 96 % and more; drops of half a volt and less are what matters."""
    hits = tries = 0
    widest: list[float] = []
    for seed in range(10):
        draw = random.Random(seed)
        board = LeadBoard(VAN, 500 + seed)
        rig = levelled(board) if level else LeadRig(board)
        nodes = [draw.choice(sorted({one.a for one in VAN.elements})) for _ in range(3)]
        clips = dict(zip(("X2", "X3", "X4"), nodes, strict=True))
        board.plant.lead.place(
            Placement(clips={"X1": "plus", "X6": VAN.minus, "X5": VAN.minus, **clips}), board.elapsed()
        )
        board.wait(0.05)
        seen, truth = rig.look(ground=True), board.plant.lead.clip_v(board.elapsed())
        pairs = [(seen.below(clip), truth[0] - truth[i]) for i, clip in enumerate(CLIPS, 1)]
        pairs += [(seen.battery, truth[0]), *([(seen.ground, truth[4])] if seen.ground else [])]
        hits += sum(within(*pair) for pair in pairs)
        tries += len(pairs)
        widest += [2 * found.u for found, true in pairs[:3] if true < 0.5]
    assert hits / tries >= 0.96
    assert max(widest) < (0.09 if level else 0.5), "V, beside the limits of 0.5 and 1 V"


def test_a_levelled_ground_reads_a_tenth_of_a_volt_within_15_millivolts() -> None:
    lamp = next(one for one in VAN.elements if one.kind == "lamp")
    board = LeadBoard(VAN, 77)
    rig = levelled(board)
    at = Placement(clips={"X1": "plus", "X6": VAN.minus, "X5": lamp.b}, bulb=("plus", lamp.b))
    board.plant.lead.place(at, board.elapsed())
    board.wait(0.1)
    ground, truth = rig.look(ground=True).ground, board.plant.lead.clip_v(board.elapsed())[4]
    assert ground and within(ground, truth) and 2 * ground.u < 0.002 + 0.125 * max(truth, 0.0)


def test_a_multimeters_volts_take_the_5_v_out() -> None:
    board = LeadBoard(VAN, 78)
    rig = levelled(board)
    board.plant.lead.place(on("plus"), board.elapsed())
    board.wait(0.05)
    truth = board.plant.lead.clip_v(board.elapsed())[0]
    wide = rig.look().battery
    rig.meter(truth * 1.004)
    narrow = rig.look().battery
    assert within(wide, truth) and within(narrow, truth) and narrow.u < wide.u / 4


FAULTS: dict[str, tuple[Broken | None, str, str]] = {
    **{f"R{140 + n}": ("no series", f"X{n}", f"X{n} reads nothing.*R{140 + n} is open") for n in range(1, 5)},
    **{f"R{144 + n}": ("no foot", f"X{n}", f"X{n} reads more than 40 V: R{144 + n}") for n in range(1, 5)},
    "R149": ("no series", "X5", "X5 .* does not see the plus"),
    "F11": (None, "X6", "No clip reads a battery.*F11"),
    **{f"X{n}": (None, f"X{n}", f"X{n} reads nothing.*clip is off") for n in range(1, 5)},
    "X5": (None, "X5", "X5 .* does not see the plus"),
    "X6": (None, "X6", "No clip reads a battery"),
}
"""By the part whose wire is open: what is broken or which clip hangs free, and what the levelling says."""
UNSEEN = {
    **{f"C{n}": "it only smooths: a spike shorter than a conversion is missed" for n in range(141, 146)},
    "U2": "its pins are the other ends of the wires above",
    **dict.fromkeys(("X7", "F12", "H1", "X8"), "the bulb is seen to light by the person who clips it"),
}


def test_every_part_of_the_lead_has_its_row_or_its_reason() -> None:
    assert set(FAULTS) | set(UNSEEN) == set(WHOLE.parts) and not set(FAULTS) & set(UNSEEN)


@pytest.mark.parametrize("part", FAULTS)
def test_the_levelling_names_what_is_open(part: str) -> None:
    broken, clip, says = FAULTS[part]
    board = LeadBoard(VAN, 5)
    placed = on("plus")
    if broken:
        board.plant.lead.broken[clip] = broken
    else:
        placed = replace(placed, clips={name: node for name, node in placed.clips.items() if name != clip})
    board.plant.lead.place(placed, 0.0)
    board.wait(0.05)
    with pytest.raises(LeadTrouble, match=says):
        LeadRig(board).level_on_plus()


@pytest.mark.parametrize("clip", ["X1", "X4", "X5"])
def test_a_clip_left_on_plus_is_named_before_it_becomes_a_zero(clip: str) -> None:
    board = LeadBoard(VAN, 6)
    rig = LeadRig(board)
    board.plant.lead.place(on("plus"), 0.0)
    board.wait(0.05)
    rig.level_on_plus()
    left = on("minus")
    board.plant.lead.place(replace(left, clips={**left.clips, clip: "plus"}), board.elapsed())
    board.wait(0.05)
    with pytest.raises(LeadTrouble, match=clip):
        rig.level_on_minus()


def test_readings_of_a_watch_say_what_was_lost_before_them() -> None:
    board = LeadBoard(VAN, 8)
    rig = levelled(board)
    watch = rig.watch()
    board.wait(0.05)
    first = watch.read()
    board.wait(0.5)
    second = watch.read()
    assert len(first) == 22 and first[0].lost == 0
    assert second[0].lost > 100
    assert second[0].at_s == pytest.approx(first[-1].at_s + (second[0].lost + 1) * 2.4e-3)
