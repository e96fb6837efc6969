"""Net list, bill of materials and pin map as text; pure functions of the circuit."""

import csv
import io
from collections import defaultdict
from collections.abc import Iterable, Sequence

from making.circuit import Circuit, Part

MADE = "Made by hardware/build.py from circuit.yaml and catalogue.yaml; do not edit."
WITH_OHM = ("resistor", "ntc", "shunt", "potentiometer")
OPTIONAL = {"vehicle": "vehicle side", "stand_in": "vehicle side"}


def csv_text(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()


def markdown_table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table in markdown."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(str(cell) for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def net_list(circuit: Circuit) -> str:
    """One line a pin: net, reference, pin, block."""
    rows = [(net, ref, pin, circuit[ref].block) for net, pins in sorted(circuit.nets().items()) for ref, pin in pins]
    return csv_text(("net", "ref", "pin", "block"), rows)


def grouped(circuit: Circuit) -> dict[str, list[Part]]:
    """Parts by type, in the order of first use."""
    groups: dict[str, list[Part]] = defaultdict(list)
    for part in circuit.parts.values():
        groups[part.type.name].append(part)
    return groups


def _line(parts: list[Part]) -> tuple[str, ...]:
    kind = parts[0].type
    unit = "ohm" if kind.kind in WITH_OHM else ""
    space = " " if unit and kind.value[-1].isdigit() else ""
    name = f"{kind.kind} {kind.value}{space}{unit}".replace("_", " ") if kind.value else kind.name.replace("_", " ")
    return (str(len(parts)), " ".join(p.ref for p in parts), name, kind.rating, " or ".join(kind.makers), kind.price)


def _all_lines(circuit: Circuit) -> list[tuple[str, ...]]:
    lines = [_line(parts) for parts in grouped(circuit).values()]
    return lines + [
        (str(e["pieces"]), "-", e["what"], "", " or ".join(e["makers"]), e["price"]) for e in circuit.extras
    ]


BILL_HEAD = ("pieces", "refs", "part", "rating", "interchangeable numbers", "price class")


def bill_csv(circuit: Circuit) -> str:
    """Bill of materials to order from."""
    return csv_text(BILL_HEAD, _all_lines(circuit))


PURPOSES = {
    "building": "boards, plate, sockets, wire",
    "around": "enclosure, USB isolator and cable, battery leads",
    "calibration": "calibration parts",
}
SOURCES = ("marketplace", "distributor")


def cost(circuit: Circuit, blocks: Iterable[str], source: int) -> float:
    """Estimated euros of the parts of some blocks, by price class; `source` as in SOURCES."""
    chosen = set(blocks)
    return sum(circuit.prices[p.type.price][source] for p in circuit.parts.values() if p.block in chosen)


def extras_cost(circuit: Circuit, purpose: str, source: int) -> float:
    """Estimated euros of what is in no net, by what it is for."""
    return sum(circuit.prices[e["price"]][source] * int(e["pieces"]) for e in circuit.extras if e["for"] == purpose)


def bench_cost(circuit: Circuit, source: int) -> float:
    """Estimated euros of the relay bench: its parts, boards, plate, sockets and wire."""
    return cost(circuit, [b for b in circuit.titles if b not in OPTIONAL], source) + extras_cost(
        circuit, "building", source
    )


def bill_markdown(circuit: Circuit) -> str:
    """Bill of materials of the full bench to read, with totals by price class and by stage."""
    bench = [bench_cost(circuit, n) for n in BOTH]
    around = [sum(extras_cost(circuit, p, n) for p in ("around", "calibration")) for n in BOTH]
    whole = [bench[n] + cost(circuit, OPTIONAL, n) for n in BOTH]
    told = [
        f"The relay bench comes to about {bench[0]:.0f} euros from a marketplace and {bench[1]:.0f} from a",
        f"distributor, with the vehicle side to about {whole[0]:.0f} and {whole[1]:.0f}. Enclosure, USB isolator",
        f"and cable, battery leads and calibration parts add {around[0]:.0f} or {around[1]:.0f}.",
    ]
    return _bill(circuit, told, "relay bench")


def one_board_cost(circuit: Circuit) -> str:
    """What a build on one board comes to."""
    build = [bench_cost(circuit, n) for n in BOTH]
    around = [sum(extras_cost(circuit, p, n) for p in ("around", "calibration")) for n in BOTH]
    return (
        f"About {build[0]:.0f} euros in parts from a marketplace, {build[1]:.0f} from a distributor, single pieces,\n"
        "without supply and tools; bulb, spare fuses, cable and test resistors add"
        f" {around[0]:.0f} or {around[1]:.0f}.\nEstimates from memory, 30 November 2026."
    )


def one_board_bill(circuit: Circuit) -> str:
    """Bill of materials of a build on one board to read, with the same totals."""
    return _bill(circuit, [one_board_cost(circuit)], "the build")


BOTH = range(len(SOURCES))


def _bill(circuit: Circuit, told: Iterable[str], needed: str) -> str:
    classes: dict[str, int] = dict.fromkeys(circuit.prices, 0)
    for row in _all_lines(circuit):
        classes[row[-1]] += int(row[0])
    totals = [
        (name, *(f"{price:.2f}" for price in prices), classes[name], *(f"{p * classes[name]:.2f}" for p in prices))
        for name, prices in circuit.prices.items()
        if classes[name]
    ]
    stages = [
        (circuit.titles[b], *(f"{cost(circuit, [b], n):.2f}" for n in BOTH), OPTIONAL.get(b, needed))
        for b in circuit.titles
    ]
    for purpose, title in PURPOSES.items():
        stages.append((title, *(f"{extras_cost(circuit, purpose, n):.2f}" for n in BOTH), needed))
    return "\n".join(
        [
            "# Bill of materials",
            f"<!-- {MADE} -->",
            "",
            "Prices are estimates by class, from memory, 30 November 2026, without supplies, battery and tools.",
            *told,
            "Ratings and numbers were written from memory of the makers' sheets: check the sheet of what you order.",
            "",
            markdown_table(BILL_HEAD, _all_lines(circuit)),
            "## Totals by price class",
            markdown_table(("class", *SOURCES, "pieces", *(f"sum, {name}" for name in SOURCES)), totals),
            "## Totals by block",
            markdown_table(("block", *SOURCES, "needed for"), stages),
        ]
    )


def pin_map(circuit: Circuit, pins: list[dict[str, str]]) -> str:
    """The Nano's pins with what hangs on each, as read in pins.yaml and the circuit."""
    nets = circuit.nets()
    rows = []
    for pin in pins:
        others = " ".join(f"{ref}.{leg}" for ref, leg in nets[pin["name"]] if ref != "U2")
        rows.append((pin["pin"], pin["name"], pin["way"], pin.get("rest", ""), others or "USB bridge", pin["does"]))
    head = ("pin", "net", "way", "at rest", "joined to", "does")
    return f"# Pins of the Nano\n<!-- {MADE} -->\n\n" + markdown_table(head, rows)
