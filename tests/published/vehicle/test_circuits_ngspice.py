"""Vehicles' circuits against ngspice, a general-purpose circuit solver: the same volts at every node.

The decks are written from the elements' fields; no law of the plant is called for them. Lamps come as the steady curve
of the plant's filament, which is held to published lamps beside it.
"""

import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest

from pulldrop.plant.vehicle import stock
from pulldrop.plant.vehicle.elements import Battery, Cable, Contact, Diode, Element, Fuse, Lamp, Ohmic, Output
from pulldrop.plant.vehicle.vehicle import Vehicle
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

COIL = Ohmic(kind="coil", name="relay's coil", a="+", b="-", ohm=90.0)
LOADED = Ohmic(kind="resistor", name="test load", a="+", b="-", ohm=4.0)
OPEN = "1e12"
COLD_OHM = {5: 17.85e-3, 7.5: 10.91e-3, 10: 7.70e-3, 15: 4.80e-3, 20: 3.38e-3}
"""Of regular blade fuses, typical (Littelfuse ATOF 287, second hand)."""


def line(one: Element, n: int, node: dict[str, str], positions: dict[str, str]) -> str:
    """One element for the deck."""
    a, b = node[one.a], node[one.b]
    closed = positions.get(getattr(one, "control", "")) in getattr(one, "closed_in", ())
    match one:
        case Battery():
            return f"V{n} s{n} {b} {one.volts}\nR{n} s{n} {a} {one.ohm}"
        case Lamp(burnt_out=True) | Diode(lost=True) | Cable(broken=True) | Fuse(blown=True):
            return f"R{n} {a} {b} {OPEN}"
        case Lamp():
            share, hot, volts = f"abs(V({a},{b})) / {one.volts}", one.volts**2 / one.watts, f"V({a},{b})"
            curve = ", ".join(f"{x:.12g}, {y:.12g}" for x, y in zip(*one.filament.steady, strict=True))
            return f"B{n} {a} {b} I = {volts} / {hot} * pwl({share}, {curve})"
        case Diode():
            return f"D{n} {a} {b} d{n}\n.model d{n} D(IS={one.saturation_a} N={one.emission})"
        case Output():
            if one.dead or not closed:
                return f"R{n} {a} {b} {one.trickle_ohm}"
            return f"B{n} {a} {b} I = min(V({a},{b}) / {one.ohm}, {one.most_a})"
        case Cable():
            return f"R{n} {a} {b} {one.metre * 19.5e-3 / one.mm2 + one.corroded_ohm}"
        case Fuse():
            return f"R{n} {a} {b} {COLD_OHM[one.rated_a] + one.clips_ohm}"
        case Contact():
            return f"R{n} {a} {b} {one.ohm if closed and not one.dead else OPEN}"
        case Ohmic():
            return f"R{n} {a} {b} {one.ohm}"
    raise TypeError(one)


def by_ngspice(elements: Sequence[Element], minus: str, positions: dict[str, str], folder: Path) -> dict[str, float]:
    """Volts by node."""
    names = [name for name in dict.fromkeys(node for one in elements for node in (one.a, one.b)) if name != minus]
    node = {name: f"n{index}" for index, name in enumerate(names)} | {minus: "0"}
    lines = [line(one, n, node, positions) for n, one in enumerate(elements)]
    lines += [f"Rleak{index} {node[name]} 0 1e9" for index, name in enumerate(names)]
    shown = "\n".join(f"print v({node[name]})" for name in names)
    options = ".options reltol=1e-9 vntol=1e-10 abstol=1e-13 gmin=1e-15 temp=26.85 tnom=26.85 itl1=2000"
    deck = folder / "vehicle.cir"
    deck.write_text("\n".join(["a vehicle", *lines, options, ".control", "op", shown, "quit", ".endc", ".end", ""]))
    done = subprocess.run(["ngspice", "-b", str(deck)], capture_output=True, text=True, timeout=30, check=False)
    found = {
        words[0]: float(words[2])
        for row in done.stdout.splitlines()
        if len(words := row.split()) == 3 and words[0].startswith("v(") and words[1] == "="
    }
    assert len(found) == len(names), done.stdout + done.stderr
    return {name: found[f"v({node[name]})"] for name in names}


@pytest.mark.parametrize("sound", [True, False], ids=["sound", "faulty"])
@pytest.mark.parametrize("hung", ["open", "coil", "load"])
@pytest.mark.parametrize("works", [False, True], ids=["at rest", "worked"])
@pytest.mark.parametrize("name", stock.names())
def test_every_node_of_a_vehicle_has_the_volts_of_ngspice(
    name: str, works: bool, hung: str, sound: bool, tmp_path: Path
) -> None:
    """Six vehicles, sound and faulty, with an empty socket, a relay in it, or a test load at its feed."""
    car = fit(parse(stock.text(name), name), Vehicle)
    positions = car.at_rest | (car.socket.works if works else {})
    coil = COIL.model_copy(update={"a": car.socket.node("trigger"), "b": car.socket.node("ground")})
    load = LOADED.model_copy(update={"a": car.socket.node("feed"), "b": car.minus})
    feeds = LOADED.model_copy(
        update={"name": "relay's contact", "a": car.socket.node("feed"), "b": car.socket.node("load"), "ohm": 0.01}
    )
    extra: tuple[Element, ...] = {"open": (), "coil": (coil, feeds), "load": (load,)}[hung]
    solved = car.solved(positions, extra, sound=sound)
    for node, volts in by_ngspice(
        (*(car.elements if sound else car.broken()), *extra), car.minus, positions, tmp_path
    ).items():
        assert solved.volts[node] == pytest.approx(volts, abs=2e-5), node
