"""Protocol and rating files: what ships is sound, what is wrong is told all at once, names are found."""

import re
import tomllib
from pathlib import Path
from typing import get_args

import pytest

from pulldrop.board import request_types
from pulldrop.model.limit import Known
from pulldrop.model.part.rating import Rating
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps import step as bench
from pulldrop.model.steps.contact import ContactStep
from pulldrop.model.steps.thresholds import ThresholdsStep
from pulldrop.protocol import library
from pulldrop.protocol.errors import UnknownName
from pulldrop.protocol.expression import parse
from pulldrop.protocol.load import check, load_protocol, plan
from pulldrop.protocol.ratings import check_rating

ROOT = Path(__file__).parents[3]

GOOD = """\
protocol: crate
version: 1
title: an invented protocol
form: C
nominal: 12 V
rating: class-mini-12v-form-c
source: "assumed: invented"
steps:
  - measure: coil
  - measure: timing
    coil: 13.5 V
  - measure: contact
    coil: 13.5 V
    load: 10 A
limits:
  operate_time: "<= 10 ms"
"""


def told(tmp_path: Path, text: str) -> list[str]:
    """The problems of a protocol, without the name of its file."""
    file = tmp_path / "crate.yaml"
    file.write_text(text, encoding="utf-8")
    found = check(file)
    return [str(p).removeprefix(f"{file}:") for p in found] if isinstance(found, list) else []


@pytest.mark.parametrize("name", library.names())
def test_every_shipped_protocol_makes_a_plan_in_which_every_limit_is_a_number(name: str) -> None:
    made = check(library.find(name))
    assert isinstance(made, Plan)
    assert made.protocol == name
    assert made.unlimited == {}
    assert made.text == library.find(name).read_text(encoding="utf-8")
    loads = [] if name.endswith(("bare", "soak", "reversed")) else [10.0]
    assert [s.load for s in made.steps if isinstance(s, ContactStep)] == loads
    assert all(limit.source.text for limit in made.limits.values())
    assert all((limit.low, limit.high, limit.state) != (None, None, None) for limit in made.limits.values())


@pytest.mark.parametrize("name", library.rating_names())
def test_every_shipped_rating_is_sound_and_fits_the_protocols_of_its_form_and_voltage(name: str) -> None:
    rating = check_rating(library.find_rating(name))
    assert isinstance(rating, Rating)
    assert rating.rating == name
    terminals = {"A": 4, "C": 5}.get(rating.form)
    for kind in ("quick", "full") if terminals else ():
        made = plan(f"relay-{terminals}t-{rating.nominal:g}v-{kind}", name)
        assert "drop_out_voltage" in made.limits
        assert "pull_in_voltage_20c" in made.limits


def test_there_is_a_protocol_of_each_kind_for_each_form_and_voltage() -> None:
    kinds = ("quick", "screen", "full", "bare", "diagnose", "soak", "reversed")
    wanted = {f"relay-{t}t-{v}v-{kind}" for t in (4, 5) for v in (12, 24) for kind in kinds}
    assert set(library.names()) == wanted


def test_a_full_protocol_is_finer_than_the_quick_one_and_its_contact_limit_the_same() -> None:
    for name in (n for n in library.names() if n.endswith("quick")):
        quick, full = plan(name), plan(name.replace("quick", "full"))
        fine = [next(s.fine for s in p.steps if isinstance(s, ThresholdsStep)) for p in (quick, full)]
        drop = [p.limits["contact_drop_no"].high or 0.0 for p in (quick, full)]
        assert fine[1] < fine[0]
        assert drop == [0.2, 0.2]


def test_a_sound_protocol_has_no_problems(tmp_path: Path) -> None:
    assert told(tmp_path, GOOD) == []


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("version: 1", "verson: 1", "2:1: 'verson' is not known here; did you mean 'version'?"),
        ("version: 1", "version: 0", "2:10: 'version': found '0'; expected at least 1"),
        ("protocol: crate", "protocol: My Crate", "1:11: 'protocol': 'My Crate' is no name"),
        ("form: C", "form: D", "4:7: 'form': found 'D'; expected 'A', 'B', 'C' or 'twin'"),
        ("12 V", "0 V", "5:10: 'nominal': a nominal voltage of 0 V is none"),
        ("12 V", "-12 V", "5:10: 'nominal': '-12 V' is below zero"),
        ("12 V", "nan V", "5:10: 'nominal': 'nan V' is not a quantity"),
        ("12 V", "12 A", "5:10: 'nominal': '12 A' is in A; expected V"),
        ("12 V", "12", "5:10: 'nominal': 12 has no unit"),
        ("class-mini-12v-form-c", "class-mini-12v", "6:9: there is no rating 'class-mini-12v'; did you mean"),
        ("class-mini-12v-form-c", "class-mini-24v-form-c", "6:9: the protocol 'crate' is for 12 V coils"),
        ("class-mini-12v-form-c", "class-mini-12v-form-a", "6:9: the protocol 'crate' is for relays of 5 terminals"),
        ("assumed: invented", "invented", "7:9: 'source': a source begins with 'invented'"),
        ("assumed: invented", "assumed:", "7:9: 'source': a source says nothing"),
        ("13.5 V\n    load", "31 V\n    load", "13:11: 'coil': 31.0 V is outside 500 mV .. 29.0 V"),
        ("load: 10 A", "load: 7 A", "14:11: 'load': the bench cannot load with 7.00 A"),
        ("load: 10 A", "load: 25 A", "14:11: 'load': the bench cannot load with 25.0 A"),
        ("load: 10 A", "load: 0 A", "14:11: 'load': the bench cannot load with 0 A"),
        ("load: 10 A", "load: 10 A\n    makes: 9", "15:12: 'makes': found '9'; expected at least 10"),
        ("load: 10 A", "load: 10 A\n    pulse: 600 ms", "15:12: 'pulse': 600 ms is outside 6.00 ms .. 500 ms"),
        ("load: 10 A", "load: 10 A\n    lod: 1", "15:5: 'lod' is not known here; did you mean 'load'?"),
        ("- measure: timing", "- measure: timng", "10:14: 'measure': found 'timng'; expected 'coil'"),
        ("- measure: coil\n", "- measure: thresholds\n", "9:14: the first step must be 'measure: coil'"),
        ("- measure: timing", "- measure: coil\n  - measure: timing", "10:14: 'coil' is measured twice"),
        ("operate_time", "operat_time", "16:3: 'operat_time' is no measurement; did you mean 'operate_time'?"),
        ("operate_time", "pull_in_voltage", "16:3: no step measures 'pull_in_voltage'; add 'measure: thresholds'"),
        ('"<= 10 ms"', '"<= 10 mx"', "16:21: 'operate_time': 'mx' in '10 mx' is not a known unit"),
        ('"<= 10 ms"', '"<= 10 mV"', "16:21: 'operate_time': the limit is in V; expected s"),
        ('"<= 10 ms"', '"<= -1 ms"', "16:21: 'operate_time': '-1' is negative"),
        ('"<= 10 ms"', "<= 10 mV", "16:20: 'operate_time': the limit is in V; expected s"),
        ('"<= 10 ms"', '{limit: "<= 1 V"}', "16:29: 'operate_time': the limit is in V; expected s"),
        ('"<= 10 ms"', '{limt: "<= 1 s"}', "16:18: 'limt' is not known here; did you mean 'limit'?"),
        ('"<= 10 ms"', "10", "16:17: 'operate_time': 10 is no limit; expected one such as"),
        ('"<= 10 ms"', ">= 10 ms", "16:18: text that begins with '>'"),
    ],
)
def test_a_planted_mistake_is_named_at_its_place(tmp_path: Path, old: str, new: str, says: str) -> None:
    found = told(tmp_path, GOOD.replace(old, new, 1))
    assert len(found) == 1
    assert found[0].startswith(says)


@pytest.mark.parametrize(
    ("settings", "says"),
    [
        ("fine: 1 V", "'fine' (1.00 V) is larger than 'coarse' (500 mV)"),
        ("fine: 5 mV", "one count of the bench's coil supply is 7.3 mV"),
        ("fine: 0 V", "outside 10.0 mV"),
        ("dwell: 5 ms", "a relay may take 10 ms to operate"),
        ("coarse_dwell: 2 s", "outside"),
        ("coarse: 20 mV, fine: 10 mV, coarse_dwell: 1 s", "would hold the coil on for 1450 s; the board allows 60 s"),
    ],
)
def test_thresholds_that_the_bench_cannot_walk_are_refused(tmp_path: Path, settings: str, says: str) -> None:
    step = f"- {{measure: thresholds, {settings}}}\n  - measure: timing"
    found = told(tmp_path, GOOD.replace("- measure: timing", step))
    assert len(found) == 1
    assert says in found[0]


def test_problems_of_shape_and_of_limits_are_told_together(tmp_path: Path) -> None:
    text = GOOD.replace("version: 1", "verson: 1").replace("10 ms", "10 V") + '  bounce_tim_no: "<= 5 ms"\n'
    assert [line.split(" ")[0] for line in told(tmp_path, text)] == ["2:1:", "16:21:", "17:3:"]


def test_a_four_terminal_protocol_knows_no_nc(tmp_path: Path) -> None:
    text = GOOD.replace("form: C", "form: A").replace("-form-c", "-form-a") + '  contact_drop_nc: "<= 300 mV"\n'
    assert told(tmp_path, text)[0].startswith("17:3: 'contact_drop_nc' needs 30-87a")


def test_a_rating_beside_the_protocol_goes_before_a_shipped_one(tmp_path: Path) -> None:
    shipped = library.find_rating("class-mini-12v-form-c").read_text(encoding="utf-8")
    (tmp_path / "class-mini-12v-form-c.yaml").write_text(shipped.replace("8.4 V", "7.5 V"), encoding="utf-8")
    file = tmp_path / "crate.yaml"
    file.write_text(GOOD, encoding="utf-8")
    assert plan(str(file)).rating.pull_in_most == 7.5


def test_problems_of_the_rating_are_told_under_its_own_name(tmp_path: Path) -> None:
    (tmp_path / "own.yaml").write_text("rating: own\n", encoding="utf-8")
    file = tmp_path / "crate.yaml"
    file.write_text(GOOD.replace("class-mini-12v-form-c", "own"), encoding="utf-8")
    found = check(file)
    assert isinstance(found, list)
    assert {Path(p.file).name for p in found} == {"own.yaml"}


def test_a_source_for_an_unknown_figure_of_a_rating_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "own.yaml"
    shipped = library.find_rating("class-mini-12v-form-c").read_text(encoding="utf-8")
    file.write_text(shipped.replace("  pull_in_most:", "  pull_in_mst:"), encoding="utf-8")
    found = check_rating(file)
    assert isinstance(found, list)
    assert "'pull_in_mst' is no figure of a rating; did you mean 'pull_in_most'?" in found[0].says


def test_protocols_and_ratings_are_found_by_name_and_by_path(tmp_path: Path) -> None:
    file = tmp_path / "crate.yaml"
    file.write_text(GOOD, encoding="utf-8")
    assert library.find(str(file)) == file
    assert load_protocol(file).protocol.protocol == "crate"
    assert library.find("relay-5t-12v-quick").is_file()
    assert library.find_rating("te-k-12v-form-c").is_file()


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("relay-5t-12v-quik", "did you mean 'relay-5t-12v-quick'?"),
        ("zzz", "shipped are relay-4t-12v-bare, relay-4t-12v-diagnose, "),
        ("gone/relay.yaml", "there is no protocol file 'gone/relay.yaml'"),
        ("gone.yaml", "there is no protocol file 'gone.yaml'"),
    ],
)
def test_an_unknown_protocol_is_a_sentence_with_the_nearest_name(name: str, says: str) -> None:
    with pytest.raises(UnknownName) as unknown:
        library.find(name)
    assert says in str(unknown.value)


def test_an_unknown_rating_suggests_those_that_hold_its_words() -> None:
    with pytest.raises(UnknownName, match="did you mean 'te-f4-12v-form-c'"):
        library.find_rating("te-f4")


def test_the_bounds_of_a_plan_are_those_of_the_board() -> None:
    assert bench.ON_MOST_S * 1000 == request_types.ON_MS_MAX
    assert bench.PULSE_MOST_S * 1000 == request_types.PULSE_MS_MAX
    assert tuple(float(b.name[1:]) for b in request_types.Branch if b.name) == bench.BRANCHES_A
    assert request_types.DAC_MAX * 30 / 4096 > bench.COIL_MOST_V


def test_every_protocol_and_rating_of_the_clone_goes_into_the_package() -> None:
    setuptools = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    assert setuptools["package-dir"]["pulldrop.protocols"] == "protocols"
    packed = {
        path for glob in setuptools["package-data"]["pulldrop.protocols"] for path in ROOT.glob(f"protocols/{glob}")
    }
    assert packed == set(ROOT.glob("protocols/**/*.yaml"))


def test_the_readme_tells_limits_loads_and_sources_as_they_are() -> None:
    readme = (ROOT / "protocols" / "README.md").read_text(encoding="utf-8")
    table = re.findall(r"^\| (.*?) \| ", readme, re.MULTILINE)[1:]
    limits = [text.strip('"') for line in table for text in re.findall(r"`(.*?)`", line)]
    assert len(limits) == 13
    for text in limits:
        parse(text)
    *most, last = [f"{a:g}" for a in bench.LOADS_A]
    assert f"Load {', '.join(most)} or {last} A" in readme
    assert all(f"`{known}`" in readme for known in get_args(Known))
