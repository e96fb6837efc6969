"""Protocol and rating files: what ships is sound, all mistakes are reported at once, names are found."""

import re
import tomllib
from itertools import product
from pathlib import Path
from typing import get_args

import pytest

from pulldrop.board import request_types
from pulldrop.model import step as bench
from pulldrop.model.bench.abilities import BRANCHES_A
from pulldrop.model.limit import Known
from pulldrop.model.part.kinds import TESTED
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import Form
from pulldrop.model.run.purpose import Purpose
from pulldrop.model.steps import yields
from pulldrop.model.steps.coil.thresholds import ThresholdsStep
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.protocol.check import check
from pulldrop.protocol.errors import UnknownName
from pulldrop.protocol.expression import parse
from pulldrop.protocol.load import plan
from pulldrop.protocol.ratings.classes import class_of, classes
from pulldrop.protocol.ratings.files import check_rating
from pulldrop.protocol.shipped import library, purposes
from pulldrop.protocol.shipped.purposes import protocol_for, shipped
from pulldrop.text.problem import BadText

RELAY = tuple(one.name for one in shipped() if one.kind == "relay")

ROOT = Path(__file__).parents[3]

GOOD = """\
protocol: crate
version: 1
title: an invented protocol
kind: relay
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


@pytest.mark.parametrize("name", RELAY)
def test_every_shipped_protocol_makes_a_plan_in_which_every_limit_is_a_number(name: str) -> None:
    plans = check(library.find(name))
    assert isinstance(plans, tuple) and {made.rating.rating for made in plans} == {one.rating for one in classes()}
    for made in plans:
        assert (made.protocol, made.form, made.unlimited) == (name, made.rating.form, {})
        assert made.text == library.find(name).read_text(encoding="utf-8")
        loads = [] if name.endswith(("bare", "soak", "reversed")) else [10.0]
        assert [s.load for s in made.steps if isinstance(s, ContactStep)] == loads
        assert all(limit.source.text for limit in made.limits.values())
        assert all((limit.low, limit.high, limit.state) != (None, None, None) for limit in made.limits.values())


@pytest.mark.parametrize("name", library.rating_names("relay"))
def test_every_shipped_rating_is_sound_and_fits_every_protocol(name: str) -> None:
    rating = check_rating(library.find_rating(name))
    assert isinstance(rating, Rating)
    assert rating.rating == name
    for protocol in RELAY:
        made = plan(protocol, name)
        bare = protocol == "relay-bare"
        assert bare or {"drop_out_voltage", "pull_in_voltage_20c"} <= made.limits.keys()
        assert (made.form, made.rating) == (rating.form, rating)


def test_there_is_a_protocol_of_each_purpose_for_each_kind() -> None:
    every = [*product(["relay"], get_args(Purpose)), ("switch", "quick"), ("two-terminal", "quick")]
    assert sorted((one.kind, one.purpose) for one in shipped()) == sorted(every)
    assert {*TESTED} == {kind for kind, _ in every}


def test_a_protocol_is_chosen_by_the_purpose_that_its_file_states_and_not_by_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    quick = library.find("relay-quick").read_text(encoding="utf-8")
    (tmp_path / "depot.yaml").write_text(quick.replace("relay-quick", "depot"), encoding="utf-8")
    full = library.find("relay-full").read_text(encoding="utf-8").replace("purpose: full", "purpose: screen")
    (tmp_path / "relay-full.yaml").write_text(full, encoding="utf-8")
    monkeypatch.setattr(library, "FOLDER", tmp_path)
    monkeypatch.setattr(purposes, "shipped", purposes.shipped.__wrapped__)
    assert (protocol_for("relay", "quick"), protocol_for("relay", "screen")) == ("depot", "relay-full")
    with pytest.raises(UnknownName, match="no protocol of the purpose 'full' for a relay"):
        protocol_for("relay", "full")


def test_a_protocol_names_those_that_test_what_it_leaves_out_and_never_itself() -> None:
    for one in shipped():
        if one.kind != "relay":
            continue
        made = plan(one.name, "class-mini-12v-form-c")
        led = {other.purpose for other in made.leads_on}
        assert led == {"full", "diagnose", "soak"} - {one.purpose}


def test_the_commonest_class_is_found_by_what_its_rating_says() -> None:
    forms: tuple[Form, ...] = ("A", "B", "C")
    found = {(form, volts): class_of(form, volts) for form in forms for volts in (12.0, 24.0)}
    assert all((one.form, one.nominal, one.any_maker) == (*key, "mini") for key, one in found.items())
    with pytest.raises(UnknownName, match="no class of relays of Form C and 6 V"):
        class_of("C", 6.0)


def test_a_full_protocol_is_finer_than_the_quick_one_and_its_contact_limit_the_same() -> None:
    for rating in classes():
        quick, full = plan("relay-quick", rating), plan("relay-full", rating)
        fine = [next(s.fine for s in p.steps if isinstance(s, ThresholdsStep)) for p in (quick, full)]
        drops = [p.limits[id].high for p in (quick, full) for id in yields("contact", p.rating)]
        assert fine[1] < fine[0]
        assert set(drops) == {0.2}


def test_a_sound_protocol_has_no_problems(tmp_path: Path) -> None:
    assert told(tmp_path, GOOD) == []


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("version: 1", "verson: 1", "2:1: 'verson' is not known here; did you mean 'version'?"),
        ("version: 1", "version: 0", "2:10: 'version': found '0'; expected at least 1"),
        ("protocol: crate", "protocol: My Crate", "1:11: 'protocol': 'My Crate' is no name"),
        ("kind: relay", "kind: fuse", "4:7: 'kind': found 'fuse'; expected 'relay'"),
        ("13.5 V", "-12 V", "9:11: 'coil': '-12 V' is below zero"),
        ("13.5 V", "nan V", "9:11: 'coil': 'nan V' is not a quantity"),
        ("13.5 V", "12 A", "9:11: 'coil': '12 A' is in A; expected V"),
        ("13.5 V", "12", "9:11: 'coil': 12 has no unit"),
        ("13.5 V", "in servise", "9:11: 'coil': found 'in servise'; did you mean 'in service'?"),
        ("13.5 V", "{12 V: in-service, 24 V: 27 V}", "9:18: 'coil': found 'in-service'; did you mean 'in service'?"),
        ("13.5 V", "nominl", "9:11: 'coil': found 'nominl'; did you mean 'nominal'?"),
        ("13.5 V", "{12 V: 13.5 V, 24 V: 27 V, 48 V: 54 V}", "9:38: '48 V' is a system that this bench cannot feed"),
        ('operate_time: "<= 10 ms"', "contact_rest: operated", "14:17: 'contact_rest': a sound part is then at rest"),
        (
            'operate_time: "<= 10 ms"',
            "contact_operated: at rest",
            "14:21: 'contact_operated': a sound part is then operated; expected 'operated'",
        ),
        ("13.5 V", "{12 V: 13.5 V, 24 V: 27 A}", "9:32: 'coil': '27 A' is in A; expected V"),
        (
            "13.5 V",
            "{12 V: 13.5 V}",
            "9:11: 'coil' has nothing for 24 V; expected '24 V: ...' beside what is there, or",
        ),
        ("13.5 V", "nominal\n    left_out: nothing", "10:5: 'left_out' is not known here"),
        ("assumed: invented", "invented", "5:9: 'source': a source begins with 'invented'"),
        ("assumed: invented", "assumed:", "5:9: 'source': a source says nothing"),
        ("13.5 V\n    load", "31 V\n    load", "11:11: 'coil': 31.0 V is outside 500 mV .. 29.0 V"),
        ("load: 10 A", "load: 7 A", "12:11: 'load': the bench cannot load with 7.00 A"),
        ("load: 10 A", "load: 25 A", "12:11: 'load': the bench cannot load with 25.0 A"),
        ("load: 10 A", "load: 0 A", "12:11: 'load': '0 A' is zero; expected more than 0 A"),
        ("load: 10 A", "load: 10 A\n    makes: 9", "13:12: 'makes': found '9'; expected at least 10"),
        ("load: 10 A", "load: 10 A\n    pulse: 600 ms", "13:12: 'pulse': 600 ms is outside 6.00 ms .. 500 ms"),
        ("load: 10 A", "load: 10 A\n    lod: 1", "13:5: 'lod' is not known here; did you mean 'load'?"),
        ("- measure: timing", "- measure: timng", "8:14: 'measure': found 'timng'; expected 'coil'"),
        ("- measure: coil\n", "- measure: thresholds\n", "7:14: the first step must be 'measure: coil'"),
        ("- measure: timing", "- measure: coil\n  - measure: timing", "8:14: 'coil' is measured twice"),
        ("operate_time", "operat_time", "14:3: 'operat_time' is no measurement; did you mean 'operate_time'?"),
        ("operate_time", "pull_in_voltage", "14:3: no step measures 'pull_in_voltage'; add 'measure: thresholds'"),
        ('"<= 10 ms"', '"<= 10 mx"', "14:21: 'operate_time': 'mx' in '10 mx' is not a known unit"),
        ('"<= 10 ms"', '"<= 10 mV"', "14:21: 'operate_time': the limit is in V; expected s"),
        ('"<= 10 ms"', '"<= -1 ms"', "14:21: 'operate_time': '-1' is negative"),
        ('"<= 10 ms"', "<= 10 mV", "14:20: 'operate_time': the limit is in V; expected s"),
        ('"<= 10 ms"', '{limit: "<= 1 V"}', "14:29: 'operate_time': the limit is in V; expected s"),
        ('"<= 10 ms"', '{limt: "<= 1 s"}', "14:18: 'limt' is not known here; did you mean 'limit'?"),
        ('"<= 10 ms"', "10", "14:17: 'operate_time': 10 is no limit; expected one such as"),
        ('"<= 10 ms"', ">= 10 ms", "14:18: text that begins with '>'"),
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
        ("fine: 0 V", "'0 V' is zero"),
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
    assert [line.split(" ")[0] for line in told(tmp_path, text)] == ["2:1:", "14:21:", "15:3:"]


def test_one_file_says_what_differs_by_system(tmp_path: Path) -> None:
    text = GOOD.replace("coil: 13.5 V\n    load", "coil: nominal\n    load").replace("13.5 V", "in service")
    walks = "  - {measure: thresholds, coarse: 1 V, fine: {12 V: 25 mV, 24 V: 50 mV}}\n"
    last = '  - measure: overdrive\n    full: {12 V: 18 V}\n    left_out: "29 V is all there is"\n'
    file = tmp_path / "crate.yaml"
    file.write_text(text.replace("limits:", f"{walks}{last}limits:"), encoding="utf-8")
    found = [plan(str(file), f"class-mini-{volts}v-form-c") for volts in (12, 24)]
    volts = [[getattr(step, "coil", None) for step in one.steps[:3]] for one in found]
    assert volts == [[None, 13.5, 12.0], [None, 27.0, 24.0]]
    assert [one.steps[3].model_dump()["fine"] for one in found] == [0.025, 0.05]
    assert [[step.measure for step in one.steps[4:]] for one in found] == [["overdrive"], []]
    assert [one.left_out for one in found] == [{}, {"overdrive": "29 V is all there is"}]


def test_a_system_whose_volts_in_service_are_not_known_is_refused(tmp_path: Path) -> None:
    rating = library.find_rating("class-mini-12v-form-c").read_text(encoding="utf-8")
    (tmp_path / "six.yaml").write_text(rating.replace("nominal: 12 V", "nominal: 6 V"), encoding="utf-8")
    with pytest.raises(BadText, match="'coil': 'in service' is not a quantity") as bad:
        plan("relay-quick", str(tmp_path / "six.yaml"))
    assert "'fine' has nothing for 6 V" in str(bad.value)


def test_a_protocol_that_suits_no_class_is_told_why(tmp_path: Path) -> None:
    found = told(tmp_path, GOOD.replace("13.5 V", "6 V"))
    assert len(found) == 2 and all("on a coil of" in one and one.startswith("6:1: ") for one in found)


@pytest.mark.parametrize("figure", ["nominal", "coil_resistance", "pull_in_most", "operate_most", "contact_no"])
@pytest.mark.parametrize("number", ["0", "1e-400", "0.0"])
def test_a_figure_that_must_be_above_zero_is_refused_at_zero(tmp_path: Path, figure: str, number: str) -> None:
    unit = {"nominal": "V", "pull_in_most": "V", "coil_resistance": "ohm", "contact_no": "A"}.get(figure, "s")
    shipped = library.find_rating("class-mini-12v-form-c").read_text(encoding="utf-8").splitlines()
    lines = [line for line in shipped if not line.startswith(f"{figure}:")]
    file = tmp_path / "own.yaml"
    file.write_text("\n".join([*lines, f"{figure}: {number} {unit}"]), encoding="utf-8")
    found = check_rating(file)
    assert isinstance(found, list) and len(found) == 1
    assert f"'{number} {unit}' is zero" in found[0].says


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("coil_resistance: 120 ohm .. 60 ohm", "the lower end is not below the upper one"),
        ("coil_resistance: 60 .. 120 ohm", "has no unit"),
        ("coil_resistance: 60 ohm .. 120 V", "is in V; expected ohm"),
        (
            "coil_resistance: 60 ohm .. 120 ohm\ncoil_tolerance: 10 %",
            "a range of 'coil_resistance' has no",
        ),
    ],
)
def test_a_range_of_ohms_is_two_quantities_in_order_and_has_no_tolerance(
    tmp_path: Path, written: str, says: str
) -> None:
    file = tmp_path / "own.yaml"
    shipped = library.find_rating("class-mini-12v-form-c").read_text(encoding="utf-8")
    file.write_text(shipped.replace("coil_resistance: 60 ohm .. 120 ohm", written, 1), encoding="utf-8")
    found = check_rating(file)
    assert isinstance(found, list) and any(says in one.says for one in found), found


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
    assert plan(str(file), "class-mini-12v-form-c").protocol == "crate"
    assert library.find("relay-quick").is_file()
    assert library.find_rating("te-k-12v-form-c").is_file()


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("relay-quik", "did you mean 'relay-quick'?"),
        ("zzz", "shipped are pair-quick, relay-bare, relay-diagnose, "),
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
    assert tuple(float(b.name[1:]) for b in request_types.Branch if b.name) == BRANCHES_A
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
    assert len(limits) == 15
    for text in limits:
        parse(text)
    *most, last = [f"{a:g}" for a in bench.LOADS_A]
    assert f"Load {', '.join(most)} or {last} A" in readme
    assert all(f"`{known}`" in readme for known in get_args(Known))
