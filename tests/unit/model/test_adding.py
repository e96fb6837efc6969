"""The way to a new contact form or a new kind of part is as short as the page for developers says.

Rule: each is added to a copy of the tree, where nothing else may change.
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[3]
RUN = """
import asyncio, contextlib, io, json, sys
from pulldrop.cli.main import main

def page(store, path):
    from pulldrop.jobs.parts.page_source import StoreSource
    from pulldrop.jobs.sort.kept_crate import kept_view
    from pulldrop.page.app import App
    from pulldrop.page.pairing import Pairing
    from pulldrop.store import Store
    with Store.look(store) as history:
        app = App(lambda: kept_view(history, ""), None, Pairing(print), StoreSource(history)).build(80)
        scope = {
            "type": "http", "method": "GET", "path": path, "query_string": b"", "headers": [(b"host", b"localhost")],
            "client": ("127.0.0.1", 1), "http_version": "1.1", "scheme": "http", "server": ("localhost", 80),
        }
        sent = []
        async def send(message): sent.append(message)
        async def receive(): return {"type": "http.request", "body": b""}
        asyncio.run(app(scope, receive, send))
    print(b"".join(one.get("body", b"") for one in sent).decode())
    return 0 if sent[0]["status"] == 200 else 1

told = []
for given in json.loads(sys.argv[1]):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = page(*given[1:]) if given[0] == "page" else main(given)
    told.append([code, out.getvalue(), err.getvalue()])
print(json.dumps(told))
"""


def copied(folder: Path) -> Path:
    """The package in a copy of the tree, with the protocols beside it."""
    host = folder / "host" / "pulldrop"
    shutil.copytree(ROOT / "host" / "pulldrop", host)
    shutil.copytree(ROOT / "protocols", folder / "protocols")
    return host


def ran(folder: Path, *commands: list[str]) -> list[tuple[int, str, str]]:
    """Exit code, output and complaints of each command, by the copy."""
    done = subprocess.run(
        [sys.executable, "-c", RUN, json.dumps(commands)],
        cwd=folder, env=os.environ | {"PYTHONPATH": str(folder / "host")}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return [(code, " ".join(out.split()), " ".join(err.split())) for code, out, err in json.loads(done.stdout)]


def test_a_form_is_one_row_a_class_rating_and_a_part_in_stock(tmp_path: Path) -> None:
    host = copied(tmp_path)
    file = host / "model" / "part" / "relay.py"
    row = 'RelayForm("D", "Form D", "make before break", PairTable({"rest": (NC,), "operated": (NO,)})),\n'
    text = file.read_text("utf-8")
    file.write_text(text.replace('        RelayForm("twin"', f'        {row}        RelayForm("twin"'), "utf-8")
    rating = (ROOT / "protocols" / "ratings" / "classes" / "class-mini-12v-form-c.yaml").read_text("utf-8")
    rating = rating.replace("class-mini-12v-form-c", "class-mini-12v-form-d").replace("form: C", "form: D")
    (tmp_path / "protocols" / "ratings" / "classes" / "class-mini-12v-form-d.yaml").write_text(rating, "utf-8")
    (host / "plant" / "stock" / "sound" / "good-form-d.yaml").write_text("title: invented\nform: D\n", "utf-8")
    test = ["test", "--board", "virtual", "--specimen", "good-form-d", "--rating", "class-mini-12v-form-d", "--json"]
    said = ran(
        tmp_path,
        [*test, "--protocol", "relay-quick", "--store", "kept.db"],
        ["parts", "new", "--form", "D", "--id", "25T", "--simulated", "--store", "kept.db"],
        ["parts", "show", "25T", "--store", "kept.db"],
    )
    assert [code for code, _, _ in said] == [0, 0, 0], said
    record: dict[str, Any] = json.loads(said[0][1])
    assert (record["plan"]["form"], record["part"]["form"], record["verdict"]["overall"]) == ("D", "D", "pass")
    assert {"contact_drop_no", "contact_drop_nc", "transfer_time"} <= {one["id"] for one in record["judged"]}
    assert "make before break (Form D)" in said[2][1]


KIND = '''"""Sockets: the blades that one takes. No procedure tests one yet."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.part.part import Part
from pulldrop.model.part.rating import Amps, KindRating


class Socket(Part):
    """A socket by its blades."""

    noun: ClassVar[str] = "a socket"

    kind: Literal["socket"] = "socket"
    blades: tuple[str, ...]

    def __str__(self) -> str:
        return f"socket for {', '.join(self.blades)}"


class SocketRating(KindRating):
    """Rated values of a socket in SI."""

    kind: Literal["socket"] = Field(description="kind of part: socket")
    blades: tuple[str, ...] = Field(min_length=1, description="blades that it takes")
    contact: Amps = Field(description="rated current of a blade")

    def part(self, id: str = "") -> Socket:
        """See `KindRating`."""
        return Socket(id=id, blades=self.blades)

    def __str__(self) -> str:
        return str(self.part())


PART, RATING = Socket, SocketRating
'''
SPECIMEN = '''"""The shape of one virtual socket."""

from typing import Literal

from pydantic import Field

from pulldrop.plant.shape import KindSpecimen


class SocketSpecimen(KindSpecimen):
    """A socket by the ohms of its clips."""

    kind: Literal["socket"] = Field(description="kind of part")
    clip_mohm: float = Field(gt=0, description="of each clip")


SPECIMEN = SocketSpecimen
'''
RATED = """\
rating: depot-socket
title: invented relay socket
source: "assumed: invented for this test"
kind: socket
blades: ["30", "87"]
contact: 30 A
"""


def test_a_kind_is_its_type_with_its_rating_and_its_specimen_and_no_file_of_another_kind_knows(tmp_path: Path) -> None:
    host = copied(tmp_path)
    (host / "model" / "part" / "kinds" / "socket.py").write_text(KIND, "utf-8")
    (host / "plant" / "parts" / "socket.py").write_text(SPECIMEN, "utf-8")
    (tmp_path / "rated.yaml").write_text(RATED, "utf-8")
    (tmp_path / "clip.yaml").write_text("title: invented\nkind: socket\nclip_mohm: 2\n", "utf-8")
    kept = ["--store", "kept.db"]
    said = ran(
        tmp_path,
        ["protocol", "check", "rated.yaml"],
        ["protocol", "show", "rated.yaml"],
        ["schema", "rating"],
        ["specimen", "show", "clip.yaml"],
        ["parts", "new", "--rating", "rated.yaml", "--id", "25T", *kept],
        ["parts", "show", "25T", "--json", *kept],
        ["store", "import", "kept.db", "--store", "cabin.db"],
        ["parts", "show", "25T", "--store", "cabin.db"],
        ["test", "--board", "virtual", "--specimen", "clip.yaml", "--store", ":memory:"],
    )
    assert [code for code, _, _ in said] == [0, 0, 0, 0, 0, 0, 0, 0, 2], said
    assert "socket for 30, 87" in said[0][1] and "rated current of a blade" in said[1][1]
    assert "SocketRating" in said[2][1] and "clip_mohm" in said[3][1]
    assert json.loads(said[5][1])["part"]["part"]["blades"] == ["30", "87"]
    assert "socket for 30, 87" in said[7][1]
    assert "is a socket; this bench tests relays, switches and two-terminal parts now" in said[8][2]


BREAKER = '''"""Bimetal circuit breakers, which close again once they are cold."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.part.part import Part
from pulldrop.model.part.rating import Amps, KindRating, Ohms, Percent


class Breaker(Part):
    """A breaker by its rated current."""

    noun: ClassVar[str] = "a breaker"
    plural: ClassVar[str] = "breakers"
    command: ClassVar[str] = "pair"
    ratings: ClassVar[str] = "breakers"

    kind: Literal["breaker"] = "breaker"
    current: float

    def __str__(self) -> str:
        return f"breaker of {self.current:g} A"


class BreakerRating(KindRating):
    """Rated values of a breaker in SI."""

    kind: Literal["breaker"] = Field(description="kind of part: breaker")
    current: Amps = Field(description="rated current")
    resistance: Ohms = Field(description="resistance at 20 degC")
    tolerance: Percent = Field(description="of that, either way")

    def part(self, id: str = "") -> Breaker:
        """See `KindRating`."""
        return Breaker(id=id, current=self.current)

    def __str__(self) -> str:
        return str(self.part())


PART, RATING = Breaker, BreakerRating
'''
BREAKER_SPECIMEN = '''"""The shape of one virtual breaker."""

from collections.abc import Mapping
from typing import Any, Literal

from pydantic import Field

from pulldrop.plant.between_clips import Blades, InSocket, Plain
from pulldrop.plant.shape import KindSpecimen
from pulldrop.plant.specimen import Faults


class BreakerSpecimen(KindSpecimen):
    """A breaker by its ohms."""

    kind: Literal["breaker"] = Field(description="kind of part")
    ohm: float = Field(gt=0, description="resistance")

    @classmethod
    def sound(cls, rated: Mapping[str, Any]) -> dict[str, object]:
        """See `KindSpecimen`."""
        return {"ohm": rated["resistance"]}

    def in_socket(self) -> InSocket:
        """See `KindSpecimen`."""
        blades = Blades(element=Plain(self.ohm), film_burns_a=1e3, pitting_scatter=0.6)
        faults = Faults(coil_open=True, stuck="operated")
        odd = ("tired",) if self.ohm > 0.03 else ()
        return InSocket(title=self.title, form="A", faults=faults, blades=blades, odd=odd)


SPECIMEN = BreakerSpecimen
'''
BREAKER_STEP = '''"""Settings of a breaker's step."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import LoadAmps, PulseTime, Step


class BreakerStep(Step):
    """A breaker at 30 and 87: ohms at a few mA, then one pulse."""

    title: ClassVar[str] = "breaker, cold and under load"
    gives: ClassVar[tuple[str, ...]] = ("pair_dry", "breaker_resistance")
    fed: ClassVar[bool] = False
    loads: ClassVar[bool] = True
    kinds: ClassVar[tuple[str, ...]] = ("breaker",)

    measure: Literal["breaker"]
    load: LoadAmps = Field(default=10.0, description="load current")
    pulse: PulseTime = Field(default=0.012, description="length of the load pulse")

    @property
    def caution(self) -> str:
        """See `Step`."""
        return "A breaker may open with a snap."
'''
BREAKER_PROCEDURE = '''"""A breaker: ohms at a few mA, then one pulse."""

from collections.abc import Iterator

from pulldrop.measure.rig.first_make import loaded_ohm
from pulldrop.measure.rig.load import LEAST_SHARE, carried, pulse_of
from pulldrop.measure.rig.counts.ranges import FINEST
from pulldrop.measure.rig.pair_dry import dry, must_conduct
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import reading
from pulldrop.model.raw import Contact
from pulldrop.model.reading import Finding, amount
from pulldrop.model.steps.pairs.breaker import BreakerStep


def procedure(rig: PartOnRig, step: BreakerStep) -> Iterator[Finding]:
    """pair_dry, breaker_resistance."""
    found = dry(rig)
    yield found
    must_conduct(found)
    pulse = pulse_of(Contact.NO, step.load, step.pulse, FINEST)
    counts = carried(rig, None, pulse, lambda one: rig.load_a(one) < LEAST_SHARE * step.load)
    ohm = loaded_ohm(rig, counts) - rig.scales.clips[Contact.NO]
    yield reading("breaker_resistance", ohm, rig.conditions(load=amount(step.load, "A")), raw=[counts])
'''
BREAKER_ROW = """
        Measurement("breaker_resistance", "breaker's resistance", "ohm",
                    "four-wire, terminal 30 to 87, one short load pulse", "its bimetal is not that of its rating",
                    rated=Rated("resistance", "nominal"), loaded=True),
"""
BREAKER_FAULTS = '''"""What is wrong with a breaker."""

from collections.abc import Iterable

from pulldrop.model.part.rating import KindRating
from pulldrop.model.reading import Finding
from pulldrop.model.run.fault import NamedFault

KIND = "breaker"


def named(rating: KindRating, findings: Iterable[Finding], failed: bool) -> tuple[NamedFault, ...]:
    """See `Named`."""
    if not failed:
        return ()
    return (NamedFault(id="breaker_bad", title="its bimetal is tired", weight=1.0, advice="Scrap it.", evidence=()),)
'''
BREAKER_RATED = """\
rating: breaker-bus-10a
title: invented breaker of 10 A
source: "assumed: invented for this test"
kind: breaker
current: 10 A
resistance: 20 mohm
tolerance: 20 %
"""
BREAKER_PROTOCOL = """\
protocol: breaker-quick
version: 1
title: breaker, quick test
kind: breaker
purpose: quick
leads_on: []
source: "assumed: invented for this test"
steps:
  - measure: breaker
limits:
  breaker_resistance: "rated +- tolerance"
"""
BREAKER_CRATE = """\
crate: crate-breaker
version: 1
title: breakers of one rating
screen: breaker-quick
full: breaker-quick
golden_every: 25
source: "assumed: invented for this test"
rules:
  - bin: keep
    why: every limit is met
    when: {passes: true}
  - bin: scrap
    why: a limit is missed
    when: {fails: [any]}
"""


def test_a_kind_of_files_of_its_own_is_tested_sorted_labelled_shown_and_compared(tmp_path: Path) -> None:
    host = copied(tmp_path)
    catalogue = host / "model" / "measurement.py"
    text = catalogue.read_text("utf-8")
    last = text.index("    )\n}  # fmt: skip")
    catalogue.write_text(text[:last] + BREAKER_ROW.lstrip("\n") + text[last:], "utf-8")
    for file, holds in (
        ("host/pulldrop/model/part/kinds/breaker.py", BREAKER),
        ("host/pulldrop/model/steps/pairs/breaker.py", BREAKER_STEP),
        ("host/pulldrop/measure/steps/pairs/breaker.py", BREAKER_PROCEDURE),
        ("host/pulldrop/judge/diagnosis/kinds/breaker.py", BREAKER_FAULTS),
        ("host/pulldrop/plant/parts/breaker.py", BREAKER_SPECIMEN),
        ("protocols/breakers/bus/breaker-bus-10a.yaml", BREAKER_RATED),
        ("protocols/breaker-quick.yaml", BREAKER_PROTOCOL),
        ("protocols/crates/crate-breaker.yaml", BREAKER_CRATE),
        ("heap/a.yaml", "title: sound\nkind: breaker\nohm: 0.02\n"),
        ("heap/b.yaml", "title: tired\nkind: breaker\nohm: 0.06\n"),
    ):
        (tmp_path / file).parent.mkdir(exist_ok=True, parents=True)
        (tmp_path / file).write_text(holds, "utf-8")
    kept, rated = ["--store", "kept.db"], ["--rating", "breaker-bus-10a", "--board", "virtual"]
    said = ran(
        tmp_path,
        ["protocol", "list"],
        ["protocol", "check", "protocols/breaker-quick.yaml", "protocols/crates/crate-breaker.yaml"],
        ["parts", "new", "--rating", "breaker-bus-10a", "--id", "25T", "--simulated", *kept],
        ["pair", *rated, "--part", "25T", *kept],
        ["pair", *rated, "--specimen", "heap/b.yaml", "--json", *kept],
        ["sort", "box", *rated, "--specimens", "heap", "--plain", *kept],
        ["report", "labels", "box", "--out", "labels.pdf", *kept],
        ["report", "crate", "box", "--out", "crate.html", *kept],
        ["parts", "show", "25T", *kept],
        ["fleet", *kept],
        ["page", "kept.db", "/parts/25T"],
    )
    assert [code for code, _, _ in said] == [0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0], said
    assert "breakers, by pulldrop pair --rating NAME: breaker-bus-10a" in said[0][1]
    assert "A breaker may open with a snap." in said[3][1] and "PASS" in said[3][1]
    tested: dict[str, Any] = json.loads(said[4][1])
    assert [one["title"] for one in tested["faults"]] == ["its bimetal is tired"]
    assert "KEEP" in said[5][1] and "SCRAP" in said[5][1]
    assert (tmp_path / "labels.pdf").read_bytes().startswith(b"%PDF")
    assert "bimetal is tired" in (tmp_path / "crate.html").read_text("utf-8")
    assert "breaker of 10 A" in said[8][1] and "breaker-bus-10a" in said[9][1]
    assert "breaker of 10 A" in said[10][1]
