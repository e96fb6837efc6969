"""Statements about readings that were not taken: no fault is named by them, on any build, for any purpose."""

from typing import get_args

import pytest

from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.choose import plan_rated
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.judge.diagnosis import NOTHING, diagnose
from pulldrop.model.part.relay import FORMS
from pulldrop.model.reading import Because, NotTested
from pulldrop.protocol.ratings.classes import class_of
from pulldrop.store import Store

PURPOSES = ("relay-bare", "relay-screen", "relay-quick", "relay-full", "relay-soak", "relay-reversed", "relay-diagnose")
NOT_BY_THE_PART = sorted({*get_args(Because)} - {"part"})


@pytest.mark.parametrize("because", NOT_BY_THE_PART)
def test_what_the_part_did_not_refuse_says_nothing_of_it(because: Because) -> None:
    for purpose in PURPOSES:
        for form in FORMS:
            plan = plan_rated(purpose, class_of(form, 12.0))
            none = [NotTested(id=id, reason="not taken", because=because) for id in plan.wanted]
            assert diagnose(plan, none) == NOTHING, (purpose, form)


@pytest.mark.parametrize("purpose", PURPOSES)
@pytest.mark.parametrize("build", ["bare", "evening"])
def test_a_smaller_build_names_nothing_on_a_sound_part(build: str, purpose: str) -> None:
    part = find("good-12v-changeover")
    plan = plan_rated(purpose, class_of("C", 12.0))
    with Store.open(":memory:") as store, open_board(f"virtual-{build}", part, 3) as board:
        record = run_one(Task(plan, plan.rating.part()), board, store, lambda _event: None)
    assert record.faults == () and record.verdict.unlike is None
