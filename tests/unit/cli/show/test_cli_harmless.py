"""Text that would drive a terminal, or turn the order of what is read, is shown as marks wherever it came from."""

import csv
import http.client
import io
import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as some
from rich.text import Text

from pulldrop.cli.main import main
from pulldrop.cli.show import errors, screen
from pulldrop.jobs.parts.page_source import StoreSource
from pulldrop.model.crate.crate import Command
from pulldrop.model.wording.harmless import MARK, harmless, obeyed, typed
from pulldrop.page import served
from pulldrop.report.data import cell
from pulldrop.report.frame import templates
from pulldrop.report.paper.sheet import Sheet
from pulldrop.store import Store

EVIL = "\x1b]52;c;aGk=\x07\x9b2J\u202eevil\ud83d"
KEPT_EVIL = f"{EVIL[:-1]}\nFORGED"
"""What a database can hold: half of a pair it cannot. With words that would stand at the rim of a screen."""
SHEET = Sheet("a sheet", "its foot", datetime(2026, 1, 1, tzinfo=UTC))

OBEYED = some.sampled_from(
    [
        chr(n)
        for n in (*range(9), *range(11, 32), *range(127, 160), 0x61C, *range(0x202A, 0x202F), *range(0x2066, 0x206A))
    ]
    + ["\u200e", "\u200f", "\u2028", "\u2029", "\ufeff", "\udcff", "\ud83d", "\U000e0041"]
)
UNSEEN = {
    chr(n)
    for least, *most in (
        [0xAD], [0x34F], [0x61C], [0x115F, 0x1160], [0x17B4, 0x17B5], [0x180B, 0x180F], [0x200B, 0x200F],
        [0x202A, 0x202E], [0x2060, 0x206F], [0x2800], [0x3164], [0xFE00, 0xFE0F], [0xFEFF], [0xFFA0], [0xFFF0, 0xFFF8],
        [0x1BCA0, 0x1BCA3], [0x1D173, 0x1D17A], [0xE0000, 0xE0FFF],
    )
    for n in range(least, (most or [least])[0] + 1)
}  # fmt: skip
"""Characters that show nothing, apart from the program's own list: Default_Ignorable_Code_Point, and blank Braille."""
HIDDEN = some.sampled_from(sorted(UNSEEN))
TEXT = some.lists(some.one_of(some.characters(), OBEYED, HIDDEN), max_size=40).map("".join)


def drives(shown: str) -> str | None:
    """Written apart from the program's own list: what a terminal of ISO 6429 or the bidirectional algorithm obeys."""
    import unicodedata

    for one in shown:
        kind = unicodedata.category(one)
        turned = unicodedata.bidirectional(one) in ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
        if (kind in ("Cc", "Cs", "Zl", "Zp") and one not in "\n\t") or turned:
            return f"U+{ord(one):04X}"
        if one in UNSEEN:
            return f"U+{ord(one):04X}"
    return None


def test_two_ids_that_look_alike_are_shown_apart_and_none_is_typed() -> None:
    for one in sorted(UNSEEN):
        assert harmless(f"K7{one}") == f"K7{MARK}"
        with pytest.raises(ValueError, match=f"U\\+{ord(one):04X} cannot be shown"):
            typed(f"K7{one}")


@pytest.mark.parametrize("text", ["Müller, Straße 7", "реле 24 В", "リレー", "继电器", "a\u0300", "→ ✔ 🚍", "\ufffd"])
def test_words_of_every_script_stay(text: str) -> None:
    assert harmless(text) == text == typed(text)


@given(TEXT)
def test_what_is_shown_drives_nothing_and_all_else_stays(text: str) -> None:
    shown = harmless(text)
    assert drives(shown) is None and obeyed(shown) == -1 and harmless(shown) == shown
    assert len(shown) == len(text)
    assert [(a, b) for a, b in zip(text, shown, strict=True) if a != b and b != MARK] == []
    assert all(a == b for a, b in zip(text, shown, strict=True) if a.isprintable() and a not in UNSEEN)


@given(TEXT)
def test_each_rim_shows_any_text_harmless(text: str) -> None:
    out = screen.console()
    table = screen.table("part", text)
    table.add_row("23Y", text)
    with out.capture() as shown:
        for one in (text, Text(text, style="bold"), table, screen.beside("!", text, 3)):
            out.print(one)
    assert drives(shown.get()) is None
    page = templates().from_string("<b title='{{ x }}'>{{ x }}</b>").render(x=text)
    assert drives(page) is None
    assert drives(cell(text)) is None


@given(TEXT)
def test_paper_shows_any_text_harmless(text: str) -> None:
    assert drives(SHEET.known(text)) is None


def test_an_error_shows_its_text_harmless(capsys: pytest.CaptureFixture[str]) -> None:
    errors.tell(OSError(2, f"no such {EVIL}", EVIL), as_json=False)
    assert drives(capsys.readouterr().err) is None


@pytest.mark.parametrize("odd", ["\x1b[2J", "\x9b", "\u202e", "\udcff", "\x00", "\r", "\n", "\u3164", "\ufe0f"])
@pytest.mark.parametrize(
    "arguments", [("parts", "new", "--form", "C", "--label"), ("parts", "show"), ("test", "--board"), ("parts", "find")]
)
def test_what_cannot_be_shown_is_refused_on_the_command_line(
    odd: str, arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main([*arguments, f"horn{odd}", "--store", str(tmp_path / "s.db")]) == 2
    said = capsys.readouterr()
    assert "cannot be shown" in said.err and drives(said.err) is None
    assert not (tmp_path / "s.db").exists()


@pytest.mark.parametrize("odd", ["\x1b[2J", "\x9b", "\u202e", "\x00", "\n"])
def test_what_cannot_be_shown_is_refused_in_a_note_from_a_page(odd: str) -> None:
    with pytest.raises(ValueError, match="cannot be shown"):
        Command.model_validate_json(json.dumps({"control": "note", "text": f"green wire{odd}"}))


@pytest.fixture(scope="module")
def poisoned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of two parts and a crate, in which whatever text can be altered and still be read ends in evil."""
    from pulldrop.jobs.demo import years

    file = tmp_path_factory.mktemp("poisoned") / "depot.db"
    few = pytest.MonkeyPatch()
    few.setattr(years, "DEPOT", years.DEPOT[:2])
    assert main(["demo", "--years", "3", "--store", str(file)]) == 0
    few.undo()
    with closing(sqlite3.connect(file)) as store, store:
        store.execute("PRAGMA journal_mode = DELETE")
        for (name,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            store.execute(f"DROP TRIGGER {name}")
    altered = [one for one in columns(file) if alter(file, *one)]
    for must in (("part", "label"), ("part", "donor"), ("part", "notes"), ("run", "operator"), ("run_end", "found")):
        assert must in altered
    assert len(altered) > 15, altered
    return file


def columns(file: Path) -> list[tuple[str, str]]:
    with closing(sqlite3.connect(file)) as store:
        tables = [name for (name,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return [
            (table, row[1])
            for table in tables
            if table not in ("link", "version", "document")
            for row in store.execute(f"PRAGMA table_info({table})")
            if row[2] in ("TEXT", "VARCHAR") and not row[5]
        ]


def alter(file: Path, table: str, column: str) -> bool:
    """Whether the store can still be read with evil in that column."""
    before = file.read_bytes()
    with closing(sqlite3.connect(file)) as store, store, suppress(sqlite3.Error):
        values = store.execute(f"SELECT rowid, {column} FROM {table} WHERE {column} IS NOT NULL").fetchall()
        store.executemany(
            f"UPDATE {table} SET {column} = ? WHERE rowid = ?", [(evil(text), row) for row, text in values]
        )
    if file.read_bytes() != before and readable(file):
        return True
    file.write_bytes(before)
    return False


def evil(kept: str) -> str:
    with suppress(ValueError):
        return json.dumps(deep(json.loads(kept)))
    return kept + KEPT_EVIL


def deep(value: object, key: str = "") -> object:
    free = ("text", "notes", "donor", "printed", "sheet", "position", "description", "place", "operator", "name", "why")
    match value:
        case dict():
            return {name: deep(inner, name) for name, inner in value.items()}
        case list():
            return [deep(inner, key) for inner in value]
        case str() if key in free:
            return value + KEPT_EVIL
    return value


def readable(file: Path) -> bool:
    try:
        with Store.open(str(file)) as store:
            for line in store.parts():
                StoreSource(store).health(line.part.id)
            for run in runs(file):
                store.record(run)
    except Exception:
        return False
    return True


def runs(file: Path) -> list[str]:
    with closing(sqlite3.connect(file)) as store:
        return [run for (run,) in store.execute("SELECT id FROM run ORDER BY started DESC LIMIT 2")]


@pytest.fixture(scope="module")
def part(poisoned: Path) -> str:
    with Store.open(str(poisoned)) as store:
        return store.parts()[0].part.id


SCREENS = (
    ("parts", "list"), ("parts", "find", "evil"), ("parts", "show", "{part}"), ("health", "{part}"), ("fleet",),
    ("parts", "show", "none"), ("store", "info"), ("store", "verify"),
)  # fmt: skip


@pytest.mark.parametrize("arguments", SCREENS, ids=" ".join)
@pytest.mark.parametrize("more", [(), ("--json",)], ids=["person", "program"])
def test_no_screen_of_an_evil_store_drives_the_terminal(
    poisoned: Path, part: str, arguments: tuple[str, ...], more: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    code = main([*(one.format(part=part) for one in arguments), *more, "--store", str(poisoned)])
    said = capsys.readouterr()
    assert drives(said.out) is None and drives(said.err) is None
    assert code != 4 and (said.out or said.err)
    assert re.findall(rf"(?m)^[^\w{MARK}]*FORGED.*$", said.out + said.err) == []


def test_the_screens_do_show_what_was_altered(poisoned: Path, part: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["parts", "show", part, "--store", str(poisoned)])
    assert capsys.readouterr().out.count("evil") > 3


@pytest.mark.parametrize("end", [".html", ".csv", ".pdf"])
@pytest.mark.parametrize("what", ["part", "run"])
def test_no_file_of_an_evil_store_drives_whoever_reads_it(
    poisoned: Path, part: str, what: str, end: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    of = part if what == "part" else runs(poisoned)[0]
    made = tmp_path / f"made{end}"
    assert main(["report", what, of, "--out", str(made), "--store", str(poisoned)]) == 0, capsys.readouterr().err
    if end == ".pdf":
        with closing(pypdfium2.PdfDocument(made)) as paper:
            text = "\n".join(page.get_textpage().get_text_bounded() for page in paper).replace("\r\n", "\n")
            text += "".join(paper.get_metadata_dict().values())
    else:
        text = made.read_bytes().decode().replace("\r\n", "\n")
    assert "evil" in text and drives(text) is None
    if end == ".csv":
        assert len(list(csv.reader(io.StringIO(text)))) > 5


@pytest.fixture(scope="module")
def address(poisoned: Path) -> Iterator[str]:
    with Store.open(str(poisoned)) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        yield urlsplit(page.address).netloc


@pytest.mark.parametrize(
    "path",
    ["/parts", "/parts?q=evil", "/parts/{part}", "/parts/{part}.csv", "/fleet", "/runs/{run}", "/parts/no%1B%5Bne"],
)
def test_no_page_of_an_evil_store_drives_whoever_looks(address: str, poisoned: Path, part: str, path: str) -> None:
    with closing(http.client.HTTPConnection(address, timeout=60)) as line:
        line.request("GET", path.format(part=part, run=runs(poisoned)[0]))
        text = line.getresponse().read().decode().replace("\r\n", "\n")
    assert drives(text) is None and len(text) > 20
