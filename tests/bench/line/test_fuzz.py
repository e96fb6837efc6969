"""A million frames in the normal suite, and the proof that the driver can fail: cores with a planted fault."""

import shutil
from pathlib import Path

import fuzz
import pytest

FRAMES, SEED = 1_000_000, 5

TRIP = "    all_off();\n    pulse_left = 0;\n    if (tripped == TRIP_NONE) {"
PLANTED = {
    "a lease of 2 ms too long": ("guard.c", "= LEASE_MS - SPARE_MS", "= LEASE_MS + 2", "on longer than 500 ms"),
    "over-current looked at for too long": ("guard.c", "OVER_SAMPLES 20", "OVER_SAMPLES 30", "over-current for longer"),
    "a trip that stops nothing": ("guard.c", TRIP, TRIP.replace("all_off();", ""), "on while"),
    "a lamp that a load does not light": (
        "guard.c",
        "supplied || outputs & (OUT_COIL | OUT_BRANCHES | OUT_THROWS)",
        "supplied",
        "the lamp is dark",
    ),
    "a load pulse without end": ("guard.c", "!count_down(&pulse_left)", "true", "loaded "),
    "a larger duty": ("duty.c", "#define MOST_MS 1000", "#define MOST_MS 1500", "more than 10 % of 10 s"),
    "pulses too close upon each other": ("duty.c", "#define RECENT_MS 500", "#define RECENT_MS 600", "of 750 ms"),
    "a load at whatever the DAC was left": (
        "pulse.c",
        "!guard_supplied() && (build_evening() || !dac_rests())",
        "dac_lost()",
        "not let on",
    ),
    "a hot make whose supply's time is over": (
        "coil.c",
        "pulse_now(pulse_load",
        "guard_pulse(pulse_load",
        "not let on",
    ),
    "an on-time that dry pulses stop": (
        "guard.c",
        "!(outputs & (OUT_BRANCHES | OUT_THROWS))) &&",
        "pulse_left == 0) &&",
        "the coil supply is let on for longer",
    ),
    "a power-on that gives load time": ("duty.c", "!power_on || warm", "!power_on", "more than 10 % of 10 s"),
    "a DAC that is left as it was": ("board.c", "|| guard_lapsed()", "", "the DAC stands"),
    "a scan that is left on": ("board.c", "scan_lost() && !hal_bare()", "scan_lost() && false", "a scan stands"),
    "energy while a scan is on": ("dispatch.c", " || scan_lost()", "", "on while a scan is"),
    "a load on a bus that is dead": ("pulse.c", "ads_answers()", "true", "though the bus was dead"),
    "answers taken for requests": ("dispatch.c", "if (id & ANSWER_BIT)", "if (false)", "nobody asked for"),
    "a full board that forgets it": ("scan.c", "&& !identity_full();", ";", "bare though a part has answered"),
    "a full board that can be made bare": (
        "scan.c",
        "answers() || !hal_bus_free() || hal_stop_closed()",
        "false",
        "made bare",
    ),
    "orders done whatever their number": (
        "dispatch.c",
        "ahead ? RESULT_DONE : RESULT_REPEAT",
        "RESULT_DONE",
        "an order done twice, out of its sequence",
    ),
    "orders done before a host has begun": (
        "dispatch.c",
        "!begun ? RESULT_NOT_BEGUN : ahead",
        "ahead",
        "or before a host has begun",
    ),
    "an old start that still counts": (
        "dispatch.c",
        "request->begin.start == identity_start()",
        "request->begin.start != 0",
        "or before a host has begun",
    ),
    "a lease that counts from when a request is heard": (
        "dispatch.c",
        "(uint16_t)hal_ms() - empty_ms",
        "0",
        "on longer than 500 ms",
    ),
    "a newest order that a reset forgets": (
        "dispatch.c",
        "static KEPT uint8_t newest",
        "static uint8_t newest",
        "forgotten",
    ),
    "a question's number forgotten by a reset": (
        "dispatch.c",
        "static KEPT uint8_t question",
        "static uint8_t question",
        "forgotten",
    ),
    "a window for orders too wide": ("dispatch.c", "&newest, ORDERS_AHEAD", "&newest, 127", "out of its sequence"),
    "questions that renew whatever their number": (
        "dispatch.c",
        "message->order || is_ahead(sequence, &question, QUESTIONS_AHEAD)",
        "message->order || is_ahead(sequence, &question, QUESTIONS_AHEAD) || true",
        "on longer than 500 ms",
    ),
    "energy amid parts of two builds": ("build.c", "own && (foreign || !measured)", "false", "parts of two builds"),
    "energy without the coil's converter": (
        "build.c",
        "own && (foreign || !measured)",
        "own && foreign",
        "parts of two builds",
    ),
    "a build that is told without a look at the other's parts": (
        "build.c",
        "if (part_answers(parts[i]))",
        "if (false)",
        "parts of two builds",
    ),
    "a main relay that is not waited for": ("feed.c", "guard_lit_ms() <= LEAD_MS", "false", "K1 makes the current"),
    "a load of which the main relay knows nothing": (
        "pulse.c",
        "(build_evening() || !dac_rests())",
        "!dac_rests()",
        "K1 makes",
    ),
    "branches that an evening build has not": ("build.c", "branches != BRANCH_10A", "branches > 15", "a branch that"),
    "a look with the limit of the coil before it": (
        "guard.c",
        "current_limit = LOOK_LIMIT;",
        "",
        "over-current for longer",
    ),
    "a log too long by one": ("capture.c", "edge_count == MOST_EDGES", "edge_count > MOST_EDGES", "out of bounds"),
}
"""File of the core, what stands there, what is put in its place, and a word of what the driver then says."""


SEEDS = 4
"""How many are tried: a fault that needs a rare order of frames is met by chance."""


@pytest.mark.slow
def test_a_million_frames_break_no_promise() -> None:
    told = fuzz.run(SEED, FRAMES)
    assert told.broken == ""
    assert [str(goal) for goal in fuzz.goals([told]) if goal.state == "missed"] == []


def test_everything_came_to_pass_that_the_promises_are_about() -> None:
    figures = fuzz.run(SEED, FRAMES // 5).figures
    seen = (
        "valid",
        "damaged",
        "answers",
        "resets",
        "stops",
        "bus_faults",
        "edges",
        "bare_starts",
        "over_current_trips",
        "evening_coil",
        "evening_looks",
        "evening_loads",
        "mixed_starts",
    )
    assert all(figures[name] > 5 for name in (*seen, "stop_trips", "lease_trips", "on_time_trips")), figures
    assert figures["on_without_request_us"] > 450_000 and figures["pulse_us"] > 200_000


@pytest.mark.parametrize("planted", PLANTED)
def test_a_planted_fault_is_found(planted: str, tmp_path: Path) -> None:
    file, right, wrong, word = PLANTED[planted]
    fuzz.program()
    copy = tmp_path / "firmware"
    shutil.copytree(fuzz.FIRMWARE, copy, ignore=shutil.ignore_patterns("*.[0-9]*"))  # and objects
    (core,) = (copy / "core").rglob(file)
    text = core.read_text()
    assert text.count(right) == 1, f"{right} does not stand in {file} once"
    core.write_text(text.replace(right, wrong))
    driver = fuzz.program(copy)
    told = (fuzz.run(seed, FRAMES, driver).broken for seed in range(SEED, SEED + SEEDS))
    assert word in next((one for one in told if one), "")
