"""Net list, bill of materials and pin map as text; pure functions of the circuit."""

import csv
import io
from collections import defaultdict
from collections.abc import Iterable, Sequence

from making.circuit import Circuit, Part

MADE = "Made by hardware/build.py from circuit.yaml and catalogue.yaml; do not edit."
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
    unit = "ohm" if kind.kind in ("resistor", "ntc", "shunt") else ""
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


def cost(circuit: Circuit, blocks: Iterable[str]) -> float:
    """Estimated euros of the parts of some blocks, by price class."""
    chosen = set(blocks)
    return sum(circuit.prices[p.type.price][1] for p in circuit.parts.values() if p.block in chosen)


def extras_cost(circuit: Circuit) -> float:
    """Estimated euros of boards, plate and wire."""
    return sum(circuit.prices[e["price"]][1] * int(e["pieces"]) for e in circuit.extras)


def bill_markdown(circuit: Circuit) -> str:
    """Bill of materials to read, with totals by price class and by stage."""
    classes: dict[str, list[int]] = {name: [] for name in circuit.prices}
    for row in _all_lines(circuit):
        classes[row[-1]].append(int(row[0]))
    totals = [
        (name, f"{most:.2f}", f"{used:.2f}", sum(classes[name]), f"{used * sum(classes[name]):.2f}")
        for name, (most, used) in circuit.prices.items()
    ]
    stages = [(circuit.titles[b], f"{cost(circuit, [b]):.2f}", OPTIONAL.get(b, "relay bench")) for b in circuit.titles]
    stages.append(("boards, plate, wire", f"{extras_cost(circuit):.2f}", "relay bench"))
    bench = cost(circuit, [b for b in circuit.titles if b not in OPTIONAL]) + extras_cost(circuit)
    whole = cost(circuit, circuit.titles) + extras_cost(circuit)
    return "\n".join(
        [
            "# Bill of materials",
            f"<!-- {MADE} -->",
            "",
            "Prices are estimates by class in euros at hobby quantities (November 2026), without the supplies.",
            f"The relay bench comes to about {bench:.0f}, with the vehicle side to about {whole:.0f}.",
            "Ratings and numbers were written from memory of the makers' sheets: check the sheet of what you order.",
            "",
            markdown_table(BILL_HEAD, _all_lines(circuit)),
            "## Totals by price class",
            markdown_table(("class", "at most", "used", "pieces", "sum"), totals),
            "## Totals by block",
            markdown_table(("block", "sum", "needed for"), stages),
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
