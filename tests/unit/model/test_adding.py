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
import contextlib, io, json, sys
from pulldrop.cli.main import main
told = []
for given in json.loads(sys.argv[1]):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(given)
    told.append([code, out.getvalue(), err.getvalue()])
print(json.dumps(told))
"""


def copied(folder: Path) -> Path:
    """The package in a copy of the tree, with the protocols beside it."""
    host = folder / "host" / "pulldrop"
    shutil.copytree(ROOT / "host" / "pulldrop", host, ignore=shutil.ignore_patterns("__pycache__"))
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
    assert "is a socket; this bench tests relays and two-terminal parts now" in said[8][2]
