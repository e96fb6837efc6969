"""Statements about later judgements of runs that come from outside: each follows again from the run's readings."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from test_imports import FAILING, SOUND, a_run
from test_store import keep

from pulldrop.jobs.parts.imports import import_from
from pulldrop.jobs.parts.rejudge import rejudge
from pulldrop.model.run.judgement import Judgement
from pulldrop.model.run.record import RunRecord
from pulldrop.protocol.load import plan
from pulldrop.store import Store

AT = datetime(2026, 6, 1, tzinfo=UTC)


@pytest.fixture
def there(tmp_path: Path) -> tuple[Path, RunRecord, Judgement]:
    """A store with a part that failed, and a later judgement of it that failed it too."""
    where = tmp_path / "cabin.db"
    with Store.open(str(where)) as store:
        failed = keep(store, a_run(FAILING))
        by = plan("relay-quick", failed.plan.rating.rating)
        return where, failed, rejudge(store, failed.run, by, AT, "the foreman")


def test_an_honest_judgement_is_taken_with_its_run(there: tuple[Path, RunRecord, Judgement]) -> None:
    where, failed, judgement = there
    with Store.open(":memory:") as here:
        assert import_from(here, str(where)).refused == []
        assert [one.id for one in here.judgements(failed.run)] == [judgement.id]
        assert here.verify().findings == ()


@pytest.mark.parametrize("part", ["verdict", "decisions", "faults"])
def test_a_judgement_that_does_not_follow_from_the_readings_is_refused(
    there: tuple[Path, RunRecord, Judgement], part: str
) -> None:
    where, failed, judgement = there
    with Store.open(":memory:") as other:
        sound = keep(other, a_run(SOUND))
        good = rejudge(other, sound.run, judgement.plan, AT)
    assert getattr(good, part) != getattr(judgement, part)
    with Store.open(str(where)) as store:
        forged = judgement.model_copy(update={"id": "20260602T000000-forged", part: getattr(good, part)})
        store.add_judgement(forged)
    with Store.open(":memory:") as here:
        (said,) = import_from(here, str(where)).refused
        assert "judgement 20260602T000000-forged was not taken in" in said and "does not follow" in said
        assert [one.id for one in here.judgements(failed.run)] == [judgement.id]


def test_a_judgement_by_other_rules_is_taken_with_a_note(there: tuple[Path, RunRecord, Judgement]) -> None:
    where, _, judgement = there
    other = judgement.model_copy(update={"id": "20260602T000000-other", "software": "pulldrop 99.0"})
    with Store.open(str(where)) as store:
        store.add_judgement(other)
    with Store.open(":memory:") as here:
        assert import_from(here, str(where)).refused == []
        with here.reading("arrivals") as connection:
            said = [row[0] for row in connection.exec_driver_sql("SELECT rules FROM arrival WHERE kind = 'rejudged'")]
        assert sorted(said) == ["", "pulldrop 99.0"]
