"""Damaged, hostile and foreign input at every door, for as long as asked: is anything answered with a traceback, a
fault of the program, a hang, or text that drives a terminal?

Doors: records and whole stores that are imported, a store that is looked at, protocols, ratings and specimens, words on
the command line, photos that are printed, waveforms of others, and bytes at the page. `--parts` is the number of tries,
`--minutes` ends them earlier. Each try draws its damage from the seed and its own number, so that it can be repeated
alone: `--first N --parts 1`.
"""

import contextlib
import io
import json
import random
import shutil
import signal
import socket
import sqlite3
import sys
import tempfile
import time
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from unittest.mock import patch
from urllib.parse import urlsplit

from harm import ODD, alter, alter_cell, damaged, forge, shaken
from report import Goal, close, parser

from pulldrop.cli.main import main as pulldrop
from pulldrop.jobs.parts.page_source import StoreSource
from pulldrop.page import Page, served
from pulldrop.store import Store

ROOT = Path(__file__).resolve().parents[3]
PATIENCE_S = 60
"""A try that takes longer hangs."""
WORDS = (
    "parts", "list", "find", "show", "new", "edit", "event", "join", "withdraw", "photo", "health", "fleet", "report",
    "run", "part", "crate", "labels", "all", "protocol", "check", "store", "info", "verify", "rejudge", "specimen",
    "schema", "--json", "--form", "--label", "--rating", "--out", "--same", "--head", "--at", "--kind", "--protocol",
    "C", "23Y", "relay-quick", "class-mini-12v-form-c", "good-12v-changeover", "--help", "--simulated", "--place",
)  # fmt: skip


class Hang(BaseException):
    """A try that does not come to its end; no handler of the program takes it for its own."""


@dataclass
class Seen:
    """What was tried and what was wrong."""

    tries: Counter[str] = field(default_factory=Counter)
    codes: Counter[int] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Doors:
    """Sound things to damage, in a folder of their own."""

    folder: Path
    store: Path
    records: Path
    page: Page

    def scratch(self, name: str, content: bytes) -> str:
        """A file of that name with this content."""
        file = self.folder / name
        file.write_bytes(content)
        return str(file)


Command = list[str]


def of_record(doors: Doors, chance: random.Random) -> list[Command]:
    """Some values of a record are others, or bytes of its file."""
    if chance.random() < 0.2:
        content = damaged(doors.records.read_bytes(), chance)
    else:
        record = json.loads(doors.records.read_text())
        for _ in range(chance.choice((1, 1, 1, 2, 5))):
            alter(record, chance)
        content = json.dumps(record).encode()
    target = fresh(doors)
    file = doors.scratch("record.json", content)
    return [["store", "import", file, "--store", target], *look(target, chance)]


def of_store(doors: Doors, chance: random.Random) -> list[Command]:
    """Cells of a store are others, or bytes of its file; it is imported from, and looked at itself."""
    file = doors.folder / "damaged.db"
    shutil.copyfile(doors.store, file)
    what = chance.random()
    if what < 0.3:
        file.write_bytes(damaged(file.read_bytes(), chance))
    elif what < 0.6:
        forge(file, chance)
    else:
        with contextlib.closing(sqlite3.connect(file)) as plain:
            for _ in range(chance.choice((1, 1, 2, 4))):
                alter_cell(plain, chance)
    if chance.random() < 0.5:
        return look(str(file), chance)
    target = fresh(doors)
    return [["store", "import", str(file), "--store", target], *look(target, chance)]


def of_yaml(doors: Doors, chance: random.Random) -> list[Command]:
    """A protocol, rating, crate or specimen with lines, words or bytes changed."""
    file = chance.choice([*ROOT.glob("protocols/**/*.yaml"), *ROOT.glob("host/pulldrop/plant/stock/**/*.yaml")])
    name = doors.scratch("damaged.yaml", shaken(file.read_text(), chance))
    kind = chance.choice(("check", "check", "show", "test", "specimen"))
    if kind == "test":
        return [["test", "--board", "virtual", "--store", ":memory:", "--no-look", "--rating", name]]
    if kind == "specimen":
        return [["specimen", "show", name], ["identify", "--board", "virtual", "--specimen", name]]
    return [["protocol", kind, name]]


def of_words(doors: Doors, chance: random.Random) -> list[Command]:
    """Commands put together by chance."""
    words = [
        chance.choice(WORDS) if chance.random() < 0.8 else str(chance.choice(ODD)) for _ in range(chance.randint(1, 7))
    ]
    return [[*words, "--store", copied(doors)]]


def of_photo(doors: Doors, chance: random.Random) -> list[Command]:
    """A damaged picture is kept and printed."""
    store, picture = copied(doors), io.BytesIO()
    from PIL import Image

    Image.new("RGB", (40, 30), "grey").save(picture, chance.choice(("PNG", "JPEG", "GIF", "WEBP", "TIFF", "BMP")))
    file = doors.scratch("photo.png", damaged(picture.getvalue(), chance))
    out = str(doors.folder / "history.pdf")
    return [
        ["parts", "photo", "23Y", file, "--store", store],
        ["report", "part", "23Y", "--out", out, "--store", store],
    ]


def of_waveform(doors: Doors, chance: random.Random) -> list[Command]:
    """The capture of another instrument, with bytes changed."""
    rows = "".join(f"{n / 10:.1f},{min(max(n, 0), 130)},{int(n > 60)},{int(n < 50)}\n" for n in range(-5, 300))
    file = doors.scratch("w.csv", damaged(b"# invented\ntime_ms,coil_ma,no,nc\n" + rows.encode(), chance))
    return [["waveform", file, "--release", file, "--coil", "12 V", *chance.choice(([], ["--json"]))]]


DOORS: dict[str, Callable[[Doors, random.Random], list[Command]]] = {
    "record": of_record, "store": of_store, "yaml": of_yaml, "words": of_words, "photo": of_photo,
    "waveform": of_waveform,
}  # fmt: skip
SHARE = (
    ("record",) * 30
    + ("store",) * 30
    + ("yaml",) * 15
    + ("words",) * 12
    + ("photo",) * 3
    + ("page",) * 10
    + ("waveform",) * 5
)


def look(store: str, chance: random.Random) -> list[Command]:
    """Two of the ways to look at a store; the part may or may not be there."""
    ways = (
        ["parts", "list"], ["parts", "show", "23Y"], ["health", "23Y"], ["fleet"], ["store", "verify"],
        ["store", "info"], ["parts", "find", "horn"], ["health", "23Y", "--json"],
        ["report", "part", "23Y", "--out", str(Path(store).with_suffix(".csv"))], ["parts", "list", "--json"],
    )  # fmt: skip
    return [[*way, "--store", store] for way in chance.sample(ways, 2)]


def fresh(doors: Doors) -> str:
    """A new store with one part of its own."""
    return copied(doors, "fresh.db", doors.folder / "one.db")


def copied(doors: Doors, name: str = "copy.db", of: Path | None = None) -> str:
    """The sound store once more."""
    for old in doors.folder.glob(f"{Path(name).stem}*"):
        shutil.rmtree(old) if old.is_dir() else old.unlink()
    shutil.copyfile(of or doors.store, doors.folder / name)
    return str(doors.folder / name)


def drives(shown: str) -> bool:
    """Whether a terminal would obey something in it."""
    return any(unicodedata.category(one) in ("Cc", "Cs") and one not in "\n\t\r" for one in shown) or "\u202e" in shown


def ran(command: Command) -> tuple[int, str]:
    """Exit code and all that was written; an exception that leaves is a code of its own."""
    out, err = io.StringIO(), io.StringIO()
    signal.alarm(PATIENCE_S)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = pulldrop(command)
    except Hang:
        return -1, "it hangs"
    except BaseException as left:
        return -2, f"{type(left).__name__} left the program: {left}"
    finally:
        signal.alarm(0)
    return code, out.getvalue() + err.getvalue()


def at_page(doors: Doors, chance: random.Random) -> str:
    """Damaged requests; afterwards the page still answers. Gives what is wrong."""
    address = urlsplit(doors.page.address)
    path = chance.choice(("/", "/parts", "/parts/23Y", "/fleet?every=6", "/pair", "/press", "/runs/x", "/photos/x"))
    body = json.dumps({"control": "note", "text": str(chance.choice(ODD))[:4000]})
    request = (
        f"{chance.choice(('GET', 'POST', 'HEAD'))} {path} HTTP/1.1\r\nHost: {address.netloc}\r\n"
        f"Origin: http://{address.netloc}\r\nContent-Length: {len(body)}\r\nConnection: close\r\n\r\n{body}"
    ).encode(errors="replace")
    here = address.hostname or "", address.port or 0
    with contextlib.suppress(OSError), socket.create_connection(here, timeout=30) as line:
        line.sendall(damaged(request, chance) if chance.random() < 0.8 else request)
        line.shutdown(socket.SHUT_WR)
        answer = b"".join(iter(lambda: line.recv(65536), b""))
        if answer.startswith(b"HTTP/1.1 5"):
            return f"answered {answer[:100]!r} to {request[:60]!r}"
    with socket.create_connection(here, timeout=30) as line:
        line.sendall(f"GET /parts HTTP/1.1\r\nHost: {address.netloc}\r\nConnection: close\r\n\r\n".encode())
        return "" if line.recv(12) == b"HTTP/1.1 200" else "the page answers no more"


def tried(doors: Doors, number: int, seed: int, seen: Seen) -> None:
    """One try."""
    chance = random.Random(f"{seed} {number}")
    door = chance.choice(SHARE)
    seen.tries[door] += 1
    if door == "page":
        if wrong := at_page(doors, chance):
            seen.wrong.append(f"try {number}, page: {wrong}")
        return
    for command in DOORS[door](doors, chance):
        code, said = ran(command)
        seen.codes[code] += 1
        if code not in (0, 1, 2, 3) or "Traceback" in said or "pulldrop itself failed" in said or drives(said):
            seen.wrong.append(f"try {number}, {door}: {' '.join(command)[:100]!a} ended with {code}: {said[-300:]!a}")


@contextlib.contextmanager
def opened() -> Iterator[Doors]:
    """Two stores, records of one, and a page of it."""
    from pulldrop.jobs.demo import years

    with tempfile.TemporaryDirectory(prefix="pulldrop-doors-") as made:
        folder = Path(made)
        store, one, records = folder / "depot.db", folder / "one.db", folder / "records.json"
        with patch.object(years, "DEPOT", years.DEPOT[:2]):
            assert ran(["demo", "--years", "3", "--store", str(store)])[0] == 0
        for command in (
            ["test", "--board", "virtual", "--protocol", "relay-quick", "--part", "23Y", "--store", str(one)],
            ["report", "part", "23Y", "--out", str(records), "--store", str(one)],
        ):
            code, said = ran(command)
            assert code in (0, 1), (command, said)
        for file in (store, one):
            with contextlib.closing(sqlite3.connect(file)) as plain:
                plain.execute("PRAGMA journal_mode = DELETE")
        with Store.open(str(store)) as kept, served(None, print, port=0, kept=StoreSource(kept)) as page:
            yield Doors(folder, store, records, page)


def main() -> int:
    """The campaign as a command."""
    asked = parser(__doc__ or "", parts=2000)
    asked.add_argument("--minutes", type=float, default=1e9, help="end after so long")
    asked.add_argument("--first", type=int, default=0, help="number of the first try")
    given = asked.parse_args()
    seen, end = Seen(), time.monotonic() + 60 * given.minutes

    def hang(*_: object) -> None:
        raise Hang

    signal.signal(signal.SIGALRM, hang)
    with opened() as doors:
        for number in range(given.first, given.first + given.parts):
            tried(doors, number, given.seed, seen)
            if time.monotonic() > end:
                break
    for line in seen.wrong[:100]:
        print(f"- {line}")
    by_door = ", ".join(f"{count} {door}" for door, count in sorted(seen.tries.items()))
    print(f"{seen.tries.total()} tries ({by_door}); exit codes {dict(sorted(seen.codes.items()))}.")
    goals = [
        Goal("answered with a fault, a hang or text that drives", len(seen.wrong), high=0),
        Goal("tries", seen.tries.total(), low=min(given.parts, 100)),
    ]
    return close("doors", given, goals)


if __name__ == "__main__":
    sys.exit(main())
