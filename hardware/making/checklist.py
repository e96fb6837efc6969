"""Every wire of the bench as a list to print and tick: board by board, then without a board, then between them."""

import csv
from collections import defaultdict
from collections.abc import Iterator

from making.circuit import Circuit
from making.lists import MADE, markdown_table
from making.strips import Leg, legs, links

DIRECT, BETWEEN = "From screw to screw and from pin to pin", "Between the boards"
HEAD = ("done", "net", "from", "to", "mm2")
Row = tuple[str, str, str, str, str]


def rows(circuit: Circuit) -> Iterator[tuple[str, Row]]:
    """Under which heading, and the row of each wire. Ends without a strip are listed along their net."""
    direct: dict[tuple[str, str], list[str]] = defaultdict(list)
    for leg in legs(circuit):
        kind, _, section = leg.how.rpartition(", ")
        if not kind.startswith(("wire", "screw")):
            continue
        end = _end(circuit, leg)
        if leg.strip:
            yield (
                f"Board {leg.board}",
                ("[ ]", leg.net, f"{leg.board}{leg.strip}, hole {leg.column}", end, section.split()[0]),
            )
        else:
            direct[leg.net, section.split()[0]].append(end)
    for (net, section), ends in direct.items():
        yield DIRECT, ("[ ]", net, ends[0], ", ".join(ends[1:]) or "the lead from outside", section)
    for row in csv.DictReader(links(circuit).splitlines()):
        first, *others = row["strips"].split(" - ")
        yield BETWEEN, ("[ ]", row["net"], first, ", then ".join(others), row["wire"].split()[0])


def _end(circuit: Circuit, leg: Leg) -> str:
    number = circuit[leg.ref].type.leg(leg.pin)
    return f"{leg.ref} {leg.pin}" + ("" if number == leg.pin else f" (leg {number})")


def text(circuit: Circuit) -> str:
    """wires.md."""
    under: dict[str, list[Row]] = defaultdict(list)
    for heading, row in rows(circuit):
        under[heading].append(row)
    parts = [
        "# Wires to tick",
        f"<!-- {MADE} -->",
        "",
        "Tick a wire when it is soldered and the meter reads below 0.5 ohm from end to end. Strip and hole are those",
        "of the pictures. What is soldered by its own leg is in the pictures and in `wiring.csv`, not here.",
        "",
    ]
    for heading, own in under.items():
        parts += [f"## {heading}: {len(own)}", "", markdown_table(HEAD, own)]
    return "\n".join(parts).rstrip() + "\n"
