"""What a part is, found out on virtual boards before anything is energised; the parts are invented."""

from pathlib import Path
from typing import Any

import pytest

from pulldrop.board.request_types import Drive
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.main import main
from pulldrop.jobs.run.identify import classes, identify, refusal
from pulldrop.jobs.run.specimens import empty_socket, find
from pulldrop.measure.identify.winding import class_of
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.part.identification import CoilSeen, Identification, SuppressionSeen
from pulldrop.plant import stock
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

BUILDS = pytest.mark.parametrize("bare", [False, True], ids=["full", "bare"])
SEEDS = (1, 2, 3)


def identified(bare: bool = False, seed: int = 1, **physics: Any) -> Identification:
    """What is said of a part that differs so from a sound 12 V changeover relay."""
    return of(Specimen.model_validate({"title": "invented", **physics}), bare, seed)


def of(specimen: Specimen, bare: bool = False, seed: int = 1) -> Identification:
    with VirtualBoard(specimen, seed, bare) as board:
        found = identify(board, nominal(seed))
        assert not board.status().on
    return found


# --- form and layout ---


@BUILDS
def test_a_changeover_part_is_likely_one_and_may_be_normally_closed(bare: bool) -> None:
    found = identified(bare)
    assert found.forms == ("C", "B")
    assert found.said("form").sure == "likely"  # type: ignore[union-attr]  # it is always said
    assert any("count the blades" in one.text for one in found.cannot_know)


@BUILDS
def test_a_normally_open_part_shows_no_contact_at_rest(bare: bool) -> None:
    found = identified(bare, base="mini_12v_normally_open")
    assert found.forms[0] == "A"
    assert found.seen == ("85", "86")
    assert found.protocol == f"relay-{'bare' if bare else 'quick'}"
    assert found.rating == "class-mini-12v-form-a"


@BUILDS
def test_two_blades_87_are_surely_seen_and_want_a_rating_that_loads_both(bare: bool) -> None:
    found = of(find("twin-87").specimen, bare)
    assert found.forms == ("twin",) and found.sure == "sure"
    assert found.rating == "class-mini-12v-twin-87"
    assert found.refuse == ""
    assert "two blades 87" in refusal(found, plan("relay-quick", "class-mini-12v-form-c"))
    assert "rating of twin 87" in refusal(found, plan("relay-quick", "class-mini-12v-form-a"))
    assert refusal(found, plan("relay-quick", "class-mini-12v-twin-87")) == ""


@BUILDS
@pytest.mark.parametrize("form", ["A", "B", "C"])
def test_exchanged_blades_are_refused_whatever_the_form(bare: bool, form: str) -> None:
    found = identified(bare, layout="exchanged", form=form)
    assert found.layout == "exchanged"
    assert "30 and 86 have changed places" in found.refuse
    assert found.coil is not None and found.coil.plus == "30"


@BUILDS
def test_exchanged_blades_are_seen_by_the_contacts_when_the_coil_is_open(bare: bool) -> None:
    assert identified(bare, layout="exchanged", faults={"coil_open": True}).layout == "exchanged"


@BUILDS
@pytest.mark.parametrize("layout", ["usual", "exchanged"])
def test_a_part_whose_layout_nothing_shows_is_refused(bare: bool, layout: str) -> None:
    found = identified(bare, form="twin", base="mini_12v_normally_open", layout=layout, faults={"coil_open": True})
    assert found.layout == "unknown" and not found.empty
    assert "no coil is seen" in found.refuse


@BUILDS
def test_an_empty_socket_is_refused_and_not_taken_for_a_part(bare: bool) -> None:
    found = of(empty_socket().specimen, bare)
    assert found.empty
    assert "empty" in found.refuse


@BUILDS
def test_a_welded_part_is_not_sure_of_its_form(bare: bool) -> None:
    found = identified(bare, faults={"welded": "contact_no"})
    assert found.said("form").sure == "unsure"  # type: ignore[union-attr]  # it is always said
    assert found.refuse == ""


@BUILDS
def test_a_wet_part_is_told_from_a_coil_and_from_a_contact(bare: bool) -> None:
    found = identified(bare, faults={"leaks": [{"between": "30-87", "ohm": 4000}]})
    assert (found.layout, found.forms) == ("usual", ("C", "B"))
    assert "30-87" in found.said("insulation").text  # type: ignore[union-attr]  # checked by the next one
    assert identified(bare).said("insulation") is None


# --- coil ---


@BUILDS
@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("base", "volts"), [("mini_12v_changeover", 12.0), ("mini_24v_changeover", 24.0)])
def test_the_class_follows_from_the_coil(bare: bool, seed: int, base: str, volts: float) -> None:
    found = identified(bare, seed, base=base)
    assert found.volts == volts
    assert found.rating == f"class-mini-{volts:g}v-form-c"


@pytest.mark.parametrize("seed", SEEDS)
def test_the_coils_ohms_come_with_an_uncertainty_that_holds(seed: int) -> None:
    with VirtualBoard(Specimen(title="invented"), seed) as board:
        coil = identify(board, nominal(seed)).coil
        assert coil is not None
        assert abs(coil.ohm - board.plant.relay.ohm) < coil.expanded_ohm < 3


@pytest.mark.parametrize(
    ("ohm", "volts", "sure"),
    [(85, 12, "sure"), (325, 24, "sure"), (150, 12, "likely"), (210, 24, "likely"), (180, None, "unsure"),
     (30, None, "unsure"), (47, None, "unsure"), (53, None, "unsure")],
)  # fmt: skip
def test_what_is_between_two_classes_is_not_told(ohm: float, volts: float | None, sure: str) -> None:
    coil = CoilSeen(plus="86", minus="85", ohm=ohm, expanded_ohm=2, ohm_20c=ohm)
    found, _, said = class_of(coil, "whole", SuppressionSeen(), classes())
    assert found == volts
    assert said is not None and said.sure == sure


@pytest.mark.parametrize("ohm", [45.0, 50.0])
def test_a_big_relay_is_named_and_no_class_is_taken_for_it(ohm: float) -> None:
    """Coils of relays of 60 A and more are of 45 to 50 ohm; as a cold mini one it was tested, and failed."""
    found = identified(False, coil={"resistance_ohm": ohm})
    assert (found.rating, found.sure) == ("", "unsure")
    assert "a big relay of 12 V" in found.said("class").text  # type: ignore[union-attr]  # it is always said


def test_a_latching_type_is_named_where_it_may_be_one() -> None:
    assert any("latching" in one.text for one in identified(False).cannot_know)
    held = identified(False, faults={"welded": "contact_no"})
    assert "a latching type" in held.said("form").text  # type: ignore[union-attr]  # it is always said


def test_a_full_bench_tells_even_a_resistor_of_a_coils_ohms_from_a_coil() -> None:
    found = identified(faults={"coil_open": True}, suppression={"kind": "resistor", "resistor_ohm": 330})
    assert found.winding == "open behind its resistor"
    assert identified(base="mini_24v_changeover").winding == "whole"


@BUILDS
def test_an_open_coil_may_be_tested_because_it_harms_nothing(bare: bool) -> None:
    found = of(find("open-coil").specimen, bare)
    assert found.winding == "open"
    assert found.refuse == ""


@BUILDS
@pytest.mark.parametrize("ohm", [0.5, 4.0])
def test_a_short_is_refused(bare: bool, ohm: float) -> None:
    found = identified(bare, suppression={"kind": "resistor", "resistor_ohm": ohm})
    assert found.winding == "shorted"
    assert "shorted" in found.refuse


# --- suppression ---


# --- harmless ---


class Watched(VirtualBoard):
    """Notes the most watts that the coil supply gave, and whether the contacts ever moved."""

    watts, fed, moved = 0.0, False, False

    def hold_coil(self, drive: Drive) -> None:
        super().hold_coil(drive)
        self.fed = self.fed or drive.on

    def wait(self, seconds: float) -> None:
        before = self.plant.relay.touching
        super().wait(seconds)
        around = self.plant.relay.circuit()
        self.watts = max(self.watts, around.plus_v * around.supply_a)
        self.moved = self.moved or self.plant.relay.touching != before


@pytest.mark.parametrize("name", stock.names())
def test_the_look_feeds_less_than_a_twentieth_of_the_coils_power_and_moves_nothing(name: str) -> None:
    part = find(name).specimen
    rated_v = {"mini_24v_changeover": 24.0, "mini_24v_normally_open": 24.0}.get(part.base, 12.0)
    with Watched(part, 5) as board:
        identify(board, nominal(5))
    assert board.watts < 0.05 * rated_v**2 / part.coil.resistance_ohm
    assert not board.moved


@pytest.mark.parametrize("name", ["exchanged-layout", "open-coil"])
def test_the_coil_supply_stays_off_where_no_coil_lies_between_86_and_85(name: str) -> None:
    with Watched(find(name).specimen, 5) as board:
        identify(board, nominal(5))
    assert not board.fed


# --- which plans suit ---


def test_a_24_v_coil_under_a_12_v_protocol_is_refused_and_the_reverse() -> None:
    assert "is one of 24 V" in refusal(
        identified(base="mini_24v_changeover"), plan("relay-quick", "class-mini-12v-form-c")
    )
    assert "burn" in refusal(identified(), plan("relay-quick", "class-mini-24v-form-c"))
    assert refusal(identified(), plan("relay-full", "class-mini-12v-form-c")) == ""


def test_a_changeover_part_under_a_protocol_for_normally_open_ones_is_refused() -> None:
    assert "closed at rest" in refusal(identified(), plan("relay-quick", "class-mini-12v-form-a"))


def test_a_part_with_nothing_closed_at_rest_may_be_tested_either_way_for_its_nc_may_be_dead() -> None:
    part = identified(contact_nc={"film_ohm": 1e6, "film_breaks_v": 30.0})
    assert (
        refusal(part, plan("relay-quick", "class-mini-12v-form-c"))
        == refusal(part, plan("relay-quick", "class-mini-12v-form-a"))
        == ""
    )


@pytest.mark.parametrize("name", [name for name in stock.names() if name.startswith("good")])
@BUILDS
def test_no_sound_part_in_stock_is_refused_its_own_protocol(name: str, bare: bool) -> None:
    found = of(find(name).specimen, bare, seed=2)
    assert found.protocol
    assert refusal(found, plan(found.protocol, found.rating)) == ""


# --- energised once, where somebody asks for it ---


def operated(name: str, seed: int = 1) -> Identification:
    with VirtualBoard(find(name).specimen, seed) as board:
        return identify(board, nominal(seed), operate=True)


@pytest.mark.parametrize(
    ("name", "forms", "sure"),
    [
        ("good-12v-changeover", ("C",), "sure"),
        ("good-24v-changeover", ("C",), "sure"),
        ("good-with-resistor", ("C",), "sure"),
        ("normally-closed", ("B", "C"), "likely"),
        ("good-12v-normally-open", ("A", "C"), "likely"),
        ("twin-87", ("twin",), "sure"),
    ],
)
def test_one_operation_settles_what_rest_cannot_show(name: str, forms: tuple[str, ...], sure: str) -> None:
    found = operated(name)
    assert found.forms == forms
    assert found.said("form").sure == sure  # type: ignore[union-attr]  # it is always said
    form_a = plan("relay-quick", "class-mini-12v-form-a")
    assert bool(refusal(found, form_a)) == (name != "good-12v-normally-open"), "87a or a second 87 goes untested by it"
    assert found.protocol and found.rating.endswith("twin-87" if forms[0] == "twin" else f"form-{forms[0].lower()}")


@pytest.mark.parametrize("name", ["exchanged-layout", "reversed-diode", "open-coil", "open-behind-resistor"])
def test_what_speaks_against_it_is_never_energised(name: str) -> None:
    with Watched(find(name).specimen, 1) as board:
        identify(board, nominal(1), operate=True)
    assert board.watts < 0.1


def test_without_being_asked_for_nothing_is_operated() -> None:
    with Watched(find("good-12v-changeover").specimen, 1) as board:
        identify(board, nominal(1))
        assert not board.moved
        identify(board, nominal(1), operate=True)
        assert board.moved


def test_without_the_usual_store_a_part_is_identified_and_nothing_kept_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "pulldrop").write_text("no folder")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    given = ["identify", "--board", "virtual", "--specimen", "good-12v-changeover"]
    assert main([*given, "--store", str(tmp_path / "pulldrop" / "kept.db")]) == 2, (
        "a store that was named must be there"
    )
    capsys.readouterr()
    assert main(given) == 0
    said = capsys.readouterr()
    assert "class-mini-12v-form-c" in said.out and "nothing is kept" in " ".join(said.err.split())
