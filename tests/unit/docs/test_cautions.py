"""Where hands are, the caution that belongs there is read: terminal, page, report and building pages; worded once."""

import html
import io
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import records
from crates import GOOD, OPEN, Crate, parts
from rich.console import Console

import pulldrop
from pulldrop.cli.main import main
from pulldrop.cli.show.live import run as live
from pulldrop.cli.show.live.crate import Log, drawn
from pulldrop.cli.show.testing import result
from pulldrop.jobs.run.day import first_today
from pulldrop.jobs.run.events import RunStarted
from pulldrop.jobs.sort.kept_crate import kept_view
from pulldrop.model.bench.identity import Identity
from pulldrop.model.crate.crate import Bin, CrateView, Stage
from pulldrop.model.wording import cautions
from pulldrop.model.wording.signs import signs
from pulldrop.page.render import Renderer
from pulldrop.protocol.load import plan
from pulldrop.store import Store

ROOT = Path(__file__).parents[3]
WIDTHS = (60, 80)


def plain(text: str) -> str:
    """The words as they follow each other, wherever lines were broken."""
    return " ".join(text.replace(" ! ", " ").split())


def printed(out: Console) -> str:
    return out.file.getvalue()  # type: ignore[attr-defined]  # the StringIO given in `console`


def console(width: int) -> Console:
    return Console(file=io.StringIO(), width=width, color_system=None, highlight=False)


# --- a run at the terminal ---


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("kind", ["real", "virtual"])
def test_a_run_begins_with_its_cautions_on_any_bench(width: int, kind: str) -> None:
    at, out = records.record(kind=kind), console(width)
    with live.Live(out, first_today=True) as show:
        show(RunStarted("r", at.part, at.plan, at.board, at.calibration))
    for told in (cautions.FIRST_TODAY, cautions.SPIKES, cautions.HOT, cautions.STOP, cautions.DECIDE):
        assert told in plain(printed(out))
    assert max(map(len, printed(out).splitlines())) <= width
    assert len(printed(out).splitlines()) < 24, "all of it is in sight together"


@pytest.mark.parametrize("rating", ["class-mini-12v-form-a", "class-mini-24v-form-c"])
def test_the_diagnosis_says_before_it_begins_that_hot_makes_wear_the_contact(rating: str) -> None:
    told = cautions.before_run([plan("relay-diagnose", rating)], first_today=False)
    assert any("wear the contact" in one and "5 times on 10 A" in one for one in told)
    assert not any("wear" in one for one in cautions.before_run([plan("relay-full", rating)], first_today=False))


def test_a_coil_that_is_held_on_is_said_to_get_hot() -> None:
    soak = plan("relay-soak", "class-mini-12v-form-c")
    (warned,) = (one.caution for one in soak.steps if one.caution)
    assert "until it is hot" in warned and warned in cautions.before_run([soak], first_today=False)


def test_where_only_a_few_milliamps_flow_nobody_is_warned_of_spikes_and_batteries() -> None:
    told = cautions.before_run([plan("relay-bare", "class-mini-12v-form-c")], first_today=True)
    assert told == (cautions.A_FEW_MA, cautions.DECIDE)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_verdict_says_what_is_hot_and_who_decides(width: int) -> None:
    out = console(width)
    result.show_verdict(out, records.record())
    assert f"mind {cautions.HOT} {cautions.DECIDE}" in plain(printed(out))
    assert max(map(len, printed(out).splitlines())) <= width


# --- the first energised run of the day ---


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[tuple[Store, Identity]]:
    file = str(tmp_path / "day.db")
    assert main(["test", "--board", "virtual", "--protocol", "relay-quick", "--store", file]) == 0
    with Store.open(file) as store:
        yield store, store.record(store.runs(store.parts()[0].part.id)[0].run).board


def test_rings_battery_and_air_are_said_once_a_day_for_each_board(
    capsys: pytest.CaptureFixture[str], bench: tuple[Store, Identity]
) -> None:
    store, board = bench
    first = plain(capsys.readouterr().out)
    assert first.index(cautions.BATTERY) < first.index("step 1 of")
    now = datetime.now(UTC)
    assert not first_today(store, board, now) or datetime.now().astimezone().hour == 0, "midnight came in between"
    assert first_today(store, board, now + timedelta(days=1))
    assert first_today(store, board.model_copy(update={"serial": board.serial + 1}), now)
    assert first_today(store, board.model_copy(update={"kind": "real"}), now)
    assert main(["test", "--board", "virtual", "--protocol", "relay-quick", "--store", store.name]) == 0
    again = plain(capsys.readouterr().out)
    assert cautions.BATTERY not in again and cautions.SPIKES in again


def test_a_run_that_energised_nothing_is_not_the_first_of_the_day(tmp_path: Path) -> None:
    file = str(tmp_path / "day.db")
    for specimen, board in (("shorted-coil", "virtual"), ("good-12v-changeover", "virtual-bare")):
        main(["test", "--board", board, "--specimen", specimen, "--store", file])
    with Store.open(file) as store:
        runs = [run for part in store.parts() for run in store.runs(part.part.id)]
        boards = [store.record(run.run).board for run in runs]
        assert len(boards) == 2 and all(first_today(store, board) for board in boards)


def test_a_look_that_operates_the_part_says_so_first_and_a_look_at_rest_does_not(
    capsys: pytest.CaptureFixture[str],
) -> None:
    look = ["identify", "--board", "virtual", "--store", ":memory:"]
    assert main([*look, "--operate"]) == 0
    told = plain(capsys.readouterr().out)
    assert told.index(cautions.FIRST_TODAY) < told.index(cautions.SPIKES) < told.index("next")
    assert main(look) == 0 and cautions.SPIKES not in plain(capsys.readouterr().out)


# --- a crate ---


@pytest.fixture(scope="module")
def views() -> list[CrateView]:
    with Store.open(":memory:") as store:
        seen = Crate(store, parts(GOOD, OPEN)).run().views
        return [*seen, kept_view(store)]


def screen_of(view: CrateView, width: int) -> str:
    out = console(width)
    out.print(drawn(view, width, 24, "", False))
    return printed(out)


def test_before_the_first_part_of_a_crate_every_caution_is_read_everywhere(views: list[CrateView]) -> None:
    begun = views[0]
    assert begun.stage is Stage.CHECK and cautions.FIRST_TODAY in begun.cautions and cautions.STOP in begun.cautions
    log, page = console(80), html.unescape(str(Renderer().event(begun, controller=False)["html"]))
    Log(log)(begun)
    for told in begun.cautions:
        assert told in plain(printed(log)) and told in plain(screen_of(begun, 80)) and told in page


def test_a_screen_of_eighty_by_twenty_four_shows_the_cautions_and_the_keys_of_the_check(views: list[CrateView]) -> None:
    shown = plain("\n".join(screen_of(views[0], 80).splitlines()[:24]))
    assert all(told in shown for told in views[0].cautions)


@pytest.mark.parametrize("stage", [Stage.INSERT, Stage.TESTING, Stage.RESULT, Stage.ENDED])
def test_while_a_hand_is_at_the_socket_terminal_and_page_say_so(views: list[CrateView], stage: Stage) -> None:
    for view in (one for one in views if one.stage is stage):
        assert view.cautions[-1] == cautions.DECIDE
        page = html.unescape(str(Renderer().event(view, controller=False)["html"]))
        for told in view.cautions:
            assert told in page and told in plain(screen_of(view, 60))
        if view.board:
            assert cautions.AT_THE_SOCKET in view.cautions


def test_a_part_that_is_kept_names_what_it_was_not_tested_for(views: list[CrateView]) -> None:
    kept = next(view for view in views if view.bin is Bin.KEEP)
    assert "Not tested: hot make (tacking), heating under load, coil when hot." in kept.sentence
    page = html.unescape(str(Renderer().event(kept, controller=False)["html"]))
    assert kept.sentence in page and kept.sentence in plain(screen_of(kept, 80))


def test_every_screen_that_has_a_part_pulled_says_that_coil_and_load_are_off(views: list[CrateView]) -> None:
    results = [view for view in views if view.stage is Stage.RESULT]
    assert results and all("Coil and load are off." in view.sentence for view in results)


@pytest.mark.parametrize("command", [["identify"], ["test", "--protocol", "relay-quick"]])
@pytest.mark.parametrize("specimen", ["twin-87", "exchanged-layout", "reversed-diode"])
def test_a_refused_part_is_told_with_whose_word_decides(
    capsys: pytest.CaptureFixture[str], command: list[str], specimen: str
) -> None:
    main([*command, "--board", "virtual", "--specimen", specimen, "--store", ":memory:"])
    said = capsys.readouterr()
    assert cautions.DECIDE in plain(said.out + said.err)


# --- calibration, reports, building pages ---


BUILDING = ["README.md", "hardware/README.md", "hardware/bare-board.md", "hardware/guide.md"]
BUILDING += ["hardware/evening/README.md", "hardware/lead/README.md"]


@pytest.mark.parametrize("page", BUILDING)
def test_pages_for_building_have_cautions_and_say_who_decides(page: str) -> None:
    text = " ".join((ROOT / page).read_text(encoding="utf-8").split())
    caution = text[text.index("## Cautions") :]
    assert "aker's data, local rules and licensed practice decide." in caution
    assert "1000 V" in caution
    if page.endswith(("guide.md", "evening/README.md")):
        for word in ("rings", "entilate", "fuse", "eye", "hot", "stop"):
            assert word in caution, word


def test_each_caution_is_worded_in_one_place() -> None:
    host = Path(pulldrop.__file__).parent
    told = [value for name, value in vars(cautions).items() if name.isupper() and isinstance(value, str)]
    assert len(told) > 12
    for file in (*host.rglob("*.py"), *host.rglob("*.jinja"), *host.rglob("*.js")):
        if file.name != "cautions.py" or file.parent.name != "wording":
            text = file.read_text(encoding="utf-8")
            assert not [one for one in told if one in text], file
            assert "licensed practice" not in text, file


def test_signs_leave_cautions_as_they_are() -> None:
    assert all(signs(one) == one for one in (*cautions.OF_A_CRATE, *cautions.OF_A_FLEET))


@pytest.mark.parametrize(
    "part",
    [("--board", "virtual-bare", "--protocol", "relay-full"), ("--board", "virtual", "--specimen", "shorted-coil")],
    ids=["a bare board", "a shorted coil"],
)
def test_a_part_that_carried_no_load_is_not_called_hot(
    part: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    main(["test", *part, "--store", ":memory:", "--no-ask"])
    told = " ".join(capsys.readouterr().out.split())
    assert "This aids judgement" in told and "the part may be hot" not in told.rpartition(" mind ")[2]
