"""Statements about events, cards and places that came from outside: they are marked wherever they are read, also once
the part was tested here; and so is a verdict that was not judged again.
"""

import io
from contextlib import redirect_stdout
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit
from urllib.request import urlopen

import pypdfium2
import pytest
from test_imports import FAILING, SOUND, a_run, as_real, in_file
from test_store import keep

from pulldrop.cli.main import main
from pulldrop.jobs.parts.imports import import_from
from pulldrop.jobs.parts.keep import describe, new, view
from pulldrop.jobs.parts.page_source import StoreSource
from pulldrop.model.origin import Origin
from pulldrop.model.part.event import Card, PartEvent, PartEventKind
from pulldrop.model.part.relay import Relay
from pulldrop.page import served
from pulldrop.store import Store

OUTSIDE, BENCH = "FROM OUTSIDE, UNVERIFIED", "FROM ANOTHER BENCH"
SAID = {
    "coil replaced by maker": "note",
    "contacts cleaned": "event",
    "NEW OLD STOCK": "card",
    "fitted: bus 7": "place",
}


def happen(store: Store, part: str) -> None:
    at = datetime.now(UTC)
    for kind, more in (
        (PartEventKind.NOTE, dict(text="coil replaced by maker")),
        (PartEventKind.CLEANED, dict(text="contacts cleaned")),
        (PartEventKind.FITTED, dict(place="bus 7")),
    ):
        store.part_event(PartEvent.model_validate(dict(part=part, at=at, kind=kind, **more)))


def screens(where: str, part: str, folder: Path) -> dict[str, str]:
    """Every screen and paper of a part, in one line each."""
    shown = {}
    for arguments in (("parts", "list"), ("parts", "show", part), ("parts", "find", part), ("health", part)):
        with redirect_stdout(io.StringIO()) as out:
            assert main([*arguments, "--store", where]) == 0
        shown[" ".join(arguments[:2])] = out.getvalue()
    for end in (".html", ".pdf"):
        file = folder / f"history{end}"
        assert main(["report", "part", part, "--out", str(file), "--store", where]) == 0
        shown[end] = file.read_text() if end == ".html" else in_pdf(file)
    with Store.look(where) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        for path in ("parts", f"parts/{part}"):
            with urlopen(f"http://{urlsplit(page.address).netloc}/{path}") as answer:
                shown[f"page {path[:6]}"] = answer.read().decode()
    return {name: " ".join(text.split()) for name, text in shown.items()}


def in_pdf(file: Path) -> str:
    with pypdfium2.PdfDocument(file) as paper:
        return " ".join(page.get_textpage().get_text_bounded() for page in paper)


@pytest.fixture(scope="module")
def tested_here(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, str]]:
    """Screens of a part that came from outside and was tested here once; with a head that vouches, and of our own."""
    shown = {}
    for kind in (OUTSIDE, BENCH, ""):
        folder = tmp_path_factory.mktemp("depot")
        here, there = str(folder / "depot.db"), str(folder / "cabin.db")
        with Store.open(there if kind else here) as store:
            part = keep(store, as_real(a_run(FAILING))).part
            describe(store, part, Card(description="NEW OLD STOCK"), False)
            happen(store, part.id)
            head = store.head()
        with Store.open(here) as store:
            if kind:
                import_from(store, there, head=head if kind == BENCH else "")
            later = dict(part=store.part(part.id).part, started=a_run(FAILING).started + timedelta(seconds=1))
            keep(store, as_real(a_run(SOUND)).model_copy(update=later))
            assert store.verify().findings == ()
        shown[kind] = screens(here, part.id, folder)
    return shown


@pytest.mark.parametrize("said", SAID, ids=SAID.values())
@pytest.mark.parametrize("mark", [OUTSIDE, BENCH])
def test_what_came_is_marked_on_every_screen_after_a_test_here(
    tested_here: dict[str, dict[str, str]], mark: str, said: str
) -> None:
    seen = 0
    for name, text in tested_here[mark].items():
        for before in text.split(said)[:-1]:
            tail = before[-40:].replace("</em></small>", "").replace(" ", "")
            assert mark.replace(" ", "") in tail, (name, before[-80:], said)
            seen += 1
    assert seen >= 4


def test_what_happened_here_has_no_mark(tested_here: dict[str, dict[str, str]]) -> None:
    for name, text in tested_here[""].items():
        assert "FROM" not in text, name


def test_a_body_from_outside_cannot_say_that_it_was_made_here(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "cabin.db")) as cabin:
        part = keep(cabin, as_real(a_run(SOUND))).part.id
        cabin.part_event(
            PartEvent(part=part, at=datetime.now(UTC), kind=PartEventKind.NOTE, text="x", came=Origin.HERE)
        )
    with Store.open(":memory:") as here:
        import_from(here, str(tmp_path / "cabin.db"))
        assert [one.came for one in here.part_events(part)] == [Origin.OUTSIDE]


def test_the_description_of_a_part_is_marked_though_no_event_gave_it(tmp_path: Path) -> None:
    """One that came with a run, and one that was never tested."""
    with Store.open(str(tmp_path / "cabin.db")) as cabin:
        tested = keep(cabin, as_real(a_run(SOUND)).model_copy(update={"part": Relay(id="T1", form="C", label="sound")}))
        cabin.new_part(Relay(id="T2", form="C", label="never used"), False)
    with Store.open(":memory:") as here:
        own = new(here, Relay(id="T3", form="C"), Card(description="ours"))
        import_from(here, str(tmp_path / "cabin.db"))
        came = {id: view(here, here.part(id)).card_came for id in ("T1", "T2", "T3")}
        assert own.card_came is Origin.HERE and tested.part.id == "T1"
        assert came == {"T1": Origin.OUTSIDE, "T2": Origin.OUTSIDE, "T3": Origin.HERE}
        assert here.verify().findings == ()


def test_a_verdict_that_was_not_judged_again_says_so_on_every_screen(tmp_path: Path) -> None:
    record, where = as_real(a_run(SOUND)).model_copy(update={"software": "pulldrop 0.0.7"}), str(tmp_path / "depot.db")
    with Store.open(where) as store:
        assert import_from(store, in_file(record, tmp_path)).new == 1
    shown = screens(where, record.part.id, tmp_path)
    with redirect_stdout(io.StringIO()) as out:
        assert main(["fleet", "--store", where]) == 0
    assert main(["report", "run", record.run, "--out", str(tmp_path / "run.csv"), "--store", where]) == 0
    shown |= {"fleet": out.getvalue(), ".csv": (tmp_path / "run.csv").read_text()}
    for name, text in shown.items():
        assert "not judged again" in " ".join(text.split()).lower(), name
