"""The bench's circuit is whole: parts can be ordered, nets have ends, generated files are fresh, drawings are true."""

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import build as generator
import pytest
import yaml

from bench import circuit, drawings, lists, sheet

HARDWARE = Path(__file__).parents[2] / "hardware"


def raw() -> tuple[dict[str, Any], dict[str, Any]]:
    """The two files, fresh, to be spoilt by a test."""
    names = ("circuit.yaml", "catalogue.yaml")
    one, other = (yaml.safe_load((HARDWARE / name).read_text("utf-8")) for name in names)
    return one, other


def test_every_part_can_be_ordered_from_two_makers() -> None:
    for part in circuit.load().parts.values():
        assert len(set(part.type.makers)) >= 2, part.ref
        assert "{" not in "".join(part.type.makers), part.ref


def test_the_bill_counts_every_part_once() -> None:
    whole = circuit.load()
    listed = [ref for row in lists.bill_csv(whole).splitlines()[1:] for ref in row.split(",")[1].split() if ref != "-"]
    assert sorted(listed) == sorted(whole.parts)


def test_the_relay_bench_costs_about_sixty() -> None:
    whole = circuit.load()
    blocks = [b for b in whole.titles if b not in lists.OPTIONAL]
    assert 45 < lists.cost(whole, blocks) + lists.extras_cost(whole) < 70


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
    [(15e3, "1502", "15K"), (1.2e6, "1204", "1M2"), (2200.0, "2201", "2K2"), (0.82, "0.82R", "R820")],
)
def test_order_codes_of_resistors(ohm: float, code4: str, rkm: str) -> None:
    codes = circuit.resistor_codes(ohm)
    assert (codes["code4"], codes["rkm"]) == (code4, rkm)


def test_generated_files_are_fresh() -> None:
    assert generator.stale(generator.outputs()) == []


def test_a_stale_file_is_named_and_fails(tmp_path: Path) -> None:
    copy = tmp_path / "hardware"
    shutil.copytree(HARDWARE, copy)
    (copy / "nets.csv").write_text("net,ref,pin,block\n")
    done = subprocess.run([sys.executable, str(copy / "build.py"), "--check"], capture_output=True, text=True)
    assert done.returncode == 1
    assert "hardware/nets.csv is stale" in done.stderr


def test_the_wiring_table_places_every_leg_once() -> None:
    whole = circuit.load()
    rows = [row.split(",") for row in lists.wiring(whole).splitlines()[1:]]
    legs = [(row[4], row[5]) for row in rows]
    assert sorted(legs) == sorted((ref, pin) for ref, part in whole.parts.items() for pin in part.pins)
    holes = [(row[0], row[1], row[2]) for row in rows if row[1] != "bolt"]
    assert len(holes) == len(set(holes))


def test_load_current_never_runs_on_a_strip() -> None:
    for row in lists.wiring(circuit.load()).splitlines()[1:]:
        board, strip, _, net, *_ = row.split(",")
        assert (strip == "bolt") == (net in lists.HEAVY), (board, net)


def test_the_drawings_show_the_circuit_and_nothing_else() -> None:
    whole = circuit.load()
    sheet.check(whole, drawings.sheets(whole))


def test_no_drawing_has_words_or_lines_on_top_of_each_other() -> None:
    for each in drawings.sheets(circuit.load()):
        assert each.collisions() == [], each.name


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
    sheet.check(whole, drawings.sheets(whole))


def test_a_line_drawn_to_the_wrong_net_is_found() -> None:
    with pytest.raises(circuit.CircuitError, match="04_coil_switch: a line joins different nets"):
        drawn_after({"R21.1": "coil_current", "R21.2": "fast_out"})


def test_a_part_left_off_the_drawings_is_found() -> None:
    data, catalogue = raw()
    data["blocks"]["supply"]["parts"]["C9"] = {"type": "c_100n", "pins": {1: "v5", 2: "gnd"}}
    whole = circuit.build(data, catalogue)
    with pytest.raises(circuit.CircuitError, match=r"not drawn: \[\('C9', '1'\)"):
        sheet.check(whole, drawings.sheets(whole))
