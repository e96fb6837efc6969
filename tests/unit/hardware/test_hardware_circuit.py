"""The bench's circuit is whole: parts can be ordered, nets have ends, generated files are fresh, drawings are true."""

import csv
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from making import checklist, circuit, files, lists
from making.copper import strips
from making.drawn import legible, sheet, sheets

HARDWARE = Path(__file__).parents[3] / "hardware"


def raw() -> tuple[dict[str, Any], dict[str, Any]]:
    """The two files, fresh, to be spoilt by a test."""
    return circuit.listed("circuit.yaml"), circuit.listed("catalogue.yaml")


def test_every_part_can_be_ordered_from_two_makers() -> None:
    for part in circuit.load().parts.values():
        assert len(set(part.type.makers)) >= 2, part.ref
        assert "{" not in "".join(part.type.makers), part.ref


def test_the_bill_counts_every_part_once() -> None:
    whole = circuit.load()
    listed = [ref for row in lists.bill_csv(whole).splitlines()[1:] for ref in row.split(",")[1].split() if ref != "-"]
    assert sorted(listed) == sorted(whole.parts)


def test_the_relay_bench_costs_what_its_parts_cost() -> None:
    """Counted by hand from list prices (from memory, November 2026): 105 to 125 euros from a marketplace; 240 to 270
    from a distributor, where the numbers named of Nano, modules and K1 cost three to five times as much."""
    marketplace, distributor = (lists.bench_cost(circuit.load(), source) for source in range(2))
    assert 105 < marketplace < 125
    assert 240 < distributor < 270


NEEDED = (
    "DIP socket 8",
    "DIP socket 16",
    "DIP socket 28",
    "header 15-way",
    "insulating kit",
    "paste",
    "lugs",
    "enclosure",
)
NEEDED += (
    "USB isolator",
    "USB cable",
    "battery leads",
    "single pads",
    "M3 x 12",
    "2.1 mm",
    "ISP programmer",
    "0.1 %",
    "0.22 ohm",
    "copper strip",
    "potentiometer",
    "heatsink 11",
)


@pytest.mark.parametrize("what", NEEDED)
def test_the_bill_names_what_is_in_no_net(what: str) -> None:
    assert what in lists.bill_csv(circuit.load())


def test_the_bill_has_the_wire_that_the_wiring_takes() -> None:
    needed = strips.metres(circuit.load())
    bought = {extra["metres"]: extra["pieces"] for extra in circuit.load().extras if "metres" in extra}
    for section, metres in needed.items():
        assert metres <= bought[section] < 1.6 * metres, section


def test_no_resistor_on_the_plate_is_joined_by_a_lug_that_it_has_not() -> None:
    """Clad resistors of 25 and 50 W have eyelets to solder, not studs (makers' sheets, from memory)."""
    assert "M4 " not in lists.bill_csv(circuit.load())


def test_there_is_a_socket_for_every_dip_circuit_and_a_kit_for_every_tab() -> None:
    whole = circuit.load()
    pieces = {extra["what"]: extra["pieces"] for extra in whole.extras}
    for package, what in (("dip8", "DIP socket 8"), ("dip16", "DIP socket 16"), ("dip28", "DIP socket 28")):
        circuits = sum(part.type.figures.get("package") == package for part in whole.parts.values())
        assert sum(n for name, n in pieces.items() if name.startswith(what)) == circuits
    tabs = [ref for ref in ("Q1", "U1", *(f"Q{n}" for n in range(12, 18)))]
    assert sum(n for name, n in pieces.items() if name.startswith("insulating kit")) == len(tabs)


def test_a_net_with_one_pin_is_named() -> None:
    data, catalogue = raw()
    data["blocks"]["coil_switch"]["parts"]["R19"]["pins"][2] = "coil_gaet"
    with pytest.raises(circuit.CircuitError, match=r"net coil_gaet has one pin, R19\.2"):
        circuit.build(data, catalogue)


def test_a_type_without_a_second_source_is_refused() -> None:
    data, catalogue = raw()
    catalogue["types"]["lm317"]["makers"] = ["TI LM317KCT"]
    with pytest.raises(circuit.CircuitError, match="lm317 has one maker's number"):
        circuit.build(data, catalogue)


def test_a_part_in_two_blocks_is_refused() -> None:
    data, catalogue = raw()
    data["blocks"]["scan"]["parts"]["R19"] = data["blocks"]["coil_switch"]["parts"]["R19"]
    with pytest.raises(circuit.CircuitError, match="R19 is in coil_switch and in scan"):
        circuit.build(data, catalogue)


@pytest.mark.parametrize(
    ("ohm", "code4", "rkm"),
    [(15e3, "1502", "15K"), (1.1e6, "1104", "1M1"), (2200.0, "2201", "2K2"), (2.2, "2208", "2R2")],
)
def test_order_codes_of_resistors(ohm: float, code4: str, rkm: str) -> None:
    codes = circuit.resistor_codes(ohm)
    assert (codes["code4"], codes["rkm"]) == (code4, rkm)


def test_generated_files_are_fresh() -> None:
    assert files.stale(files.outputs()) == []


def test_a_stale_file_is_named_and_fails(tmp_path: Path) -> None:
    copy = tmp_path / "hardware"
    shutil.copytree(HARDWARE, copy)
    (copy / "lists/nets.csv").write_text("net,ref,pin,block\n")
    done = subprocess.run([sys.executable, str(copy / "build.py"), "--check"], capture_output=True, text=True)
    assert done.returncode == 1
    assert "hardware/lists/nets.csv is stale" in done.stderr


def test_the_wiring_table_places_every_leg_once_on_boards_that_can_be_bought() -> None:
    whole = circuit.load()
    legs = strips.legs(whole)
    assert sorted((leg.ref, leg.pin) for leg in legs) == sorted(
        (r, p) for r, part in whole.parts.items() for p in part.pins
    )
    holes = [(leg.board, leg.strip, leg.column) for leg in legs if leg.strip]
    assert len(holes) == len(set(holes))
    assert max(leg.strip for leg in legs) <= strips.STRIPS
    assert max(leg.column for leg in legs) <= strips.COLUMNS


def test_no_strip_beside_dac_or_feedback_can_put_volts_on_the_coil_supply() -> None:
    """Bridged from dac to lamp, 86 had 22 V at any code; from lamp to feedback 6.5 V while dark (simulated)."""
    at = {leg.strip: leg.net for leg in strips.legs(circuit.load()) if leg.board == "A" and leg.strip}
    place = {net: strip for strip, net in at.items()}
    assert at[1] == "gnd" and max(at) <= strips.STRIPS
    beside = {net: {at.get(place[net] + step, "") for step in (-1, 1)} for net in ("dac", "feedback", "lamp")}
    assert beside == {
        "dac": {"scl", ""},
        "feedback": {"", "drive"},
        "lamp": {"", "stop_n"},
    }  # the stop's contact closes to ground


def test_a_strip_is_one_net() -> None:
    nets: dict[tuple[str, int], set[str]] = {}
    for leg in strips.legs(circuit.load()):
        if leg.strip:
            nets.setdefault((leg.board, leg.strip), set()).add(leg.net)
    assert all(len(found) == 1 for found in nets.values())


CHIP = re.compile(r"(?<!\d)(0603|0805|1206|2010|2512)(?!\d)")
"""Sizes of resistors without leads; holes are 2.54 mm apart."""


def test_what_stands_in_holes_has_leads() -> None:
    whole = circuit.load()
    for ref in {leg.ref for leg in strips.legs(whole) if leg.how == "leg"}:
        assert not any(CHIP.search(number) for number in whole[ref].type.makers), ref


def test_no_coil_current_passes_a_strip_between_the_taps_of_its_resistor() -> None:
    """The wire to the socket leaves beyond R17, seen from R26 and R27: two holes of strip are 1.2 mohm, 1.2 % of it."""
    whole = circuit.load()
    at = {(leg.ref, leg.net): leg.column for leg in strips.legs(whole) if leg.board == "A"}
    strip, hole = strips.link_hole(strips.legs(whole), "coil_plus")
    assert f"coil_plus,{strip} hole {hole} - C1," in strips.links(whole)
    assert max(at["R26", "coil_plus"], at["R27", "coil_plus"]) < at["R17", "coil_plus"] < hole
    assert at["R14", "coil_reg"] < at["R17", "coil_reg"] < at["R25", "coil_reg"]


def test_no_coil_current_passes_a_strip_between_the_taps_of_the_fast_resistor() -> None:
    """19 holes of strip are 12 mohm, 1.5 % of R18; the sheet always had two wires to its legs."""
    whole = circuit.load()
    taps = [leg for leg in strips.legs(whole) if leg.ref == "U6" and leg.pin.startswith("IN")]
    assert [(leg.strip, leg.how) for leg in taps] == [(0, "wire to the leg of R18, 0.25 mm2")] * 2
    assert [leg.net for leg in taps] == [*whole["R18"].pins.values()] == ["fast", "gnd"]
    rows = [row[1:4] for _, row in checklist.rows(whole) if row[3].startswith("U6 IN")]
    assert rows == [
        ("fast", "the leg itself of R18 1", "U6 IN+ (leg 3)"), ("gnd", "the leg itself of R18 2", "U6 IN- (leg 4)"),
    ]  # fmt: skip


def test_load_current_never_runs_on_a_strip() -> None:
    """Every pin that carries it is a screw."""
    carriers = {
        "K1.87",
        "F2.2",
        "R57.1",
        "R58.2",
        "Q15.d",
        "Q16.s",
        "Q17.s",
        "J3.87",
        "J3.30",
        "R30.I+",
        "R30.I-",
        "J2.minus",
    }
    by_screw = {f"{leg.ref}.{leg.pin}" for leg in strips.legs(circuit.load()) if leg.how.startswith("screw")}
    assert carriers - by_screw == set()


def test_what_stands_at_the_pins_of_another_part_shares_its_nets() -> None:
    """Both legs of a decoupling capacitor reach its circuit; the clamp reaches the drain."""
    whole = circuit.load()
    for ref, (other, standing) in strips.AT_PINS.items():
        assert {whole[ref].net(leg) for leg in standing} <= set(whole[other].pins.values()), ref
    assert {whole[ref].net(leg) for ref, leg in strips.AT_SCREW.items()} <= strips.HEAVY | strips.SCREWED


def pieces(found: list[strips.Leg], told: str, nets: circuit.Circuit) -> dict[str, set[str]]:
    """Of each net the pieces into which legs, screws and the links `told` join it, each by one of its ends."""
    ends: dict[tuple[str, str], str] = {}

    def end(net: str, name: str) -> str:
        while (further := ends.setdefault((net, name), name)) != name:
            name = further
        return name

    def join(net: str, one: str, other: str) -> None:
        ends[net, end(net, one)] = end(net, other)

    for leg in found:
        to_part = re.match(r"(?:at the pins|wire to the leg) of (\w+)", leg.how)
        at = to_part[1] if to_part else ""
        others = [f"{at}.{pin}" for pin, net in nets[at].pins.items() if net == leg.net] if at else []
        if leg.strip:
            others = [f"{leg.board}{leg.strip}"]
        elif "screw" in leg.how:
            others = ["screw"]
        elif leg.how.startswith("wire to the other"):
            others = ["the wire"]
        for other in others:
            join(leg.net, f"{leg.ref}.{leg.pin}", other)
    for row in csv.DictReader(told.splitlines()):
        for one, other in pairwise(row["strips"].split(" - ")):
            join(row["net"], one.split()[0], other.split()[0])
    split: dict[str, set[str]] = {}
    for leg in found:
        split.setdefault(leg.net, set()).add(end(leg.net, f"{leg.ref}.{leg.pin}"))
    return split


def test_a_bench_wired_by_the_lists_has_every_net_in_one_piece() -> None:
    whole = circuit.load()
    found = strips.legs(whole)
    split = pieces(found, strips.links(whole), whole)
    assert {net: sorted(own) for net, own in split.items() if len(own) > 1} == {}
    lost = [
        replace(leg, strip=0, how="at the pins of Q3") if (leg.ref, leg.pin) == ("D12", "a") else leg for leg in found
    ]
    assert len(pieces(lost, strips.links(whole), whole)["gnd"]) == 2, "as it was listed once"


def test_the_lead_from_the_battery_leads_to_its_fuse_and_nowhere_else() -> None:
    whole = circuit.load()
    assert whole.nets()[whole["J9"].net("plus")] == [("J9", "plus"), ("F2", "1")]
    assert whole["F2"].net("2") == whole["J2"].net("plus")
    rows = [row[2:4] for _, row in checklist.rows(whole) if "F2 " in row[3]]
    assert rows == [("J9 plus", "F2 1"), ("J2 plus", "F2 2, F5 1, K1 30")]


def test_both_poles_lead_to_their_stud_and_from_it_to_the_bench() -> None:
    """As hardware/README.md says of load_minus: battery clamp to stud, stud to R30."""
    rows = {row[1]: row[2:4] for heading, row in checklist.rows(circuit.load()) if heading == checklist.DIRECT}
    assert rows["load_minus"] == ("J2 minus", "R30 I-, J9 minus")
    assert rows["load_fused"] == ("J2 plus", "F2 2, F5 1, K1 30")


def test_the_wires_between_boards_join_each_net_wholly() -> None:
    rows = {row.split(",")[0]: row.split(",")[1].split(" - ") for row in strips.links(circuit.load()).splitlines()[1:]}
    for net in ("gnd", "v5", "coil_minus", "load_minus"):
        boards = {leg.board for leg in strips.legs(circuit.load()) if leg.net == net and leg.strip}
        assert {end[0] for end in rows[net]} - {"s"} == boards


def test_the_drawings_show_the_circuit_and_nothing_else() -> None:
    whole = circuit.load()
    sheet.check(whole, sheets.drawn(whole))


def test_no_drawing_has_words_or_lines_on_top_of_each_other() -> None:
    for each in sheets.drawn(circuit.load()):
        assert legible.collisions(each) == [], each.name


def drawn_after(change: dict[str, str]) -> None:
    """Trace the sheets against a circuit in which pins went to other nets: {"R21.1": "coil_current"}."""
    data, catalogue = raw()
    for place, net in change.items():
        ref, _, pin = place.partition(".")
        for block in data["blocks"].values():
            for name, part in block["parts"].items():
                if name == ref:
                    part["pins"] = {str(k): net if str(k) == pin else v for k, v in part["pins"].items()}
    whole = circuit.build(data, catalogue)
    sheet.check(whole, sheets.drawn(whole))


def test_a_line_drawn_to_the_wrong_net_is_found() -> None:
    with pytest.raises(circuit.CircuitError, match="04_coil_switch: a line joins different nets"):
        drawn_after({"R21.1": "coil_current", "R21.2": "fast_out"})


def test_a_part_left_off_the_drawings_is_found() -> None:
    data, catalogue = raw()
    data["blocks"]["supply"]["parts"]["C9"] = {"type": "c_100n", "pins": {1: "v5", 2: "gnd"}}
    whole = circuit.build(data, catalogue)
    with pytest.raises(circuit.CircuitError, match=r"not drawn: \[\('C9', '1'\)"):
        sheet.check(whole, sheets.drawn(whole))
