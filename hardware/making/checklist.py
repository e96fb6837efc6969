"""Every joint of the bench to print and tick: wires board by board, without a board, between them; then own legs."""

import csv
from collections import defaultdict
from collections.abc import Iterator

from making.circuit import Circuit
from making.copper import neighbours
from making.copper.strips import Leg, legs, links
from making.lists import MADE, markdown_table

DIRECT, BETWEEN = "From screw to screw and from pin to pin", "Between the boards"
JOINTS = "By their own legs at pins and screws"
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
        elif kind.startswith("wire to the leg of"):
            sensed = circuit[kind.rpartition(" ")[2]]
            pin = next(pin for pin, net in sensed.pins.items() if net == leg.net)
            tap = f"the leg itself of {sensed.ref} {pin}"
            yield f"Board {leg.board}", ("[ ]", leg.net, tap, end, section.split()[0])
        else:
            ends = direct[leg.net, section.split()[0]]
            ends.insert(0 if circuit[leg.ref].type.name == "clamps" else len(ends), end)
    for (net, section), ends in direct.items():
        yield DIRECT, ("[ ]", net, ends[0], ", ".join(ends[1:]) or "the lead from outside", section)
    for row in csv.DictReader(links(circuit).splitlines()):
        first, *others = row["strips"].split(" - ")
        ends = [screw(circuit, row["net"]) if end == "screw" else end for end in others]
        yield BETWEEN, ("[ ]", row["net"], first, ", then ".join(ends), row["wire"].split()[0])
    for (net, at), ends in _joints(circuit).items():
        yield JOINTS, ("[ ]", net, ", ".join(ends), at, "-")


def _joints(circuit: Circuit) -> dict[tuple[str, str], list[str]]:
    """Legs that stand at a pin or a screw, by their net and that place."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for leg in legs(circuit):
        if leg.how.startswith("at the screw"):
            found[leg.net, screw(circuit, leg.net)].append(_end(circuit, leg))
        elif leg.how.startswith("at the pins"):
            other = circuit[leg.how.rpartition(" ")[2]]
            pin = min((p for p, net in other.pins.items() if net == leg.net), key=lambda p: p not in ("GND", "VSS"))
            found[leg.net, _named(circuit, other.ref, pin)].append(_end(circuit, leg))
    return found


def screw(circuit: Circuit, net: str) -> str:
    """Which screw or contact is meant by the screw of a net: the stud, else that of a connector, else the first."""
    ends = [leg for leg in legs(circuit) if leg.net == net and leg.how.startswith("screw")]
    kinds = [circuit[leg.ref].type for leg in ends]
    best = min(range(len(ends)), key=lambda n: (kinds[n].name != "clamps", kinds[n].kind != "connector"))
    return _end(circuit, ends[best])


def _end(circuit: Circuit, leg: Leg) -> str:
    return _named(circuit, leg.ref, leg.pin)


def _named(circuit: Circuit, ref: str, pin: str) -> str:
    number = circuit[ref].type.leg(pin)
    return f"{ref} {pin}" + ("" if number == pin else f" (leg {number})")


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
        "of the pictures. From a stud (J2) a wire of its own leads to each end. What stands in holes by its own legs",
        "is in the pictures and in `lists/wiring.csv`, not here; the last list but one has what is soldered to a pin",
        "or screw by its own leg.",
        "",
    ]
    for heading, own in under.items():
        parts += [f"## {heading}: {len(own)}", "", markdown_table(HEAD, own)]
    parts.append(neighbours.text(circuit))
    return "\n".join(parts).rstrip() + "\n"
