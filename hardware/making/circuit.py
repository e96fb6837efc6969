"""Loads the circuits of the builds and catalogue.yaml into frozen values; nothing else in hardware/ reads them.

Rule: a mistake in the data is a sentence that names the part and says what to do.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import yaml

FOLDER = Path(__file__).resolve().parents[1]
GROUND = "gnd"
TWO_LEGS = {"k": "1", "a": "2"}


class CircuitError(Exception):
    """The circuit data contradict themselves."""


@dataclass(frozen=True)
class Type:
    """One type of part. `makers` are interchangeable; `number(key)` reads a rating in SI units."""

    name: str
    kind: str
    rating: str
    price: str
    makers: tuple[str, ...]
    figures: dict[str, Any]

    @property
    def value(self) -> str:
        """What a drawing prints beside the reference, such as "15 k", "470 nF" or "1N4148"; may be empty."""
        if self.kind in ("resistor", "ntc", "shunt", "potentiometer"):
            return engineering(self.figures["ohm"])
        return (
            engineering(self.figures["farad"]) + "F" if self.kind == "capacitor" else str(self.figures.get("mark", ""))
        )

    def leg(self, pin: str) -> str:
        """The number of a pin on the part, or the name printed on a module; a diode's k is 1 and its a is 2."""
        legs = {str(name): str(number) for name, number in self.figures.get("legs", TWO_LEGS).items()}
        return legs.get(pin, pin)

    def number(self, key: str) -> float:
        """One rating or value; a missing one is a mistake in the catalogue."""
        try:
            return float(self.figures[key])
        except KeyError:
            raise CircuitError(f"catalogue.yaml: {self.name} has no `{key}`; add it from the maker's sheet") from None

    def bounds(self, key: str) -> tuple[float, float, float]:
        """Least, typical and most of a spread figure."""
        least, typical, most = self.figures[key]
        return float(least), float(typical), float(most)


@dataclass(frozen=True)
class Part:
    """One part: where it is (`block`), what it is (`type`), and the net at each pin."""

    ref: str
    block: str
    type: Type
    pins: dict[str, str]
    does: str = ""

    def net(self, pin: str) -> str:
        """Net at a pin."""
        return self.pins[pin]


@dataclass(frozen=True)
class Circuit:
    """All parts by reference, titles of blocks in order, and everything that is in no net."""

    parts: dict[str, Part]
    titles: dict[str, str]
    prices: dict[str, tuple[float, float]]
    extras: tuple[dict[str, Any], ...]

    def __getitem__(self, ref: str) -> Part:
        return self.parts[ref]

    def block(self, name: str) -> list[Part]:
        """Parts of one block, in the order of the file."""
        return [p for p in self.parts.values() if p.block == name]

    def nets(self) -> dict[str, list[tuple[str, str]]]:
        """Every net with its (ref, pin) pairs, both in the order of the file."""
        return self._nets

    @cached_property
    def _nets(self) -> dict[str, list[tuple[str, str]]]:
        nets: dict[str, list[tuple[str, str]]] = {}
        for part in self.parts.values():
            for pin, net in part.pins.items():
                nets.setdefault(net, []).append((part.ref, pin))
        return nets

    def between(self, one: str, other: str) -> Iterator[Part]:
        """Two-pin parts that join the two nets."""
        for part in self.parts.values():
            if len(part.pins) == 2 and set(part.pins.values()) == {one, other}:
                yield part


def engineering(number: float) -> str:
    """0.005 -> "5 m", 15000 -> "15 k", 4.7e-7 -> "470 n"."""
    for scale, letter in ((1e6, " M"), (1e3, " k"), (1.0, ""), (1e-3, " m"), (1e-6, " u"), (1e-9, " n")):
        if abs(number) >= scale * 0.9999 or (scale == 1.0 and number >= 0.1):
            return f"{number / scale:.4g}{letter}"
    return f"{number:.3g}"


def resistor_codes(ohm: float) -> dict[str, str]:
    """Value codes of makers' numbers: 15000 ohm -> code4 1502, rkm 15K; 2.2 ohm -> 2208, 2R2."""
    power = math.floor(math.log10(ohm) + 1e-9)
    code4 = f"{round(ohm / 10.0**power * 100)}{(power - 2) % 10}"
    scale, letter = next((s, n) for s, n in ((1e6, "M"), (1e3, "K"), (1.0, "R")) if ohm >= s)
    whole, _, rest = f"{ohm / scale:.4g}".partition(".")
    return {"code4": code4, "rkm": f"{whole}{letter}{rest}"}


def _types(data: dict[str, Any]) -> dict[str, Type]:
    types = {}
    for name, own in data["types"].items():
        figures = {**data["families"].get(own.get("family", ""), {}), **own}
        codes = resistor_codes(figures["ohm"]) if "family" in own else {}
        makers = tuple(str(m).format(**codes) if codes else str(m) for m in figures.pop("makers"))
        if len(makers) < 2:
            raise CircuitError(f"catalogue.yaml: {name} has one maker's number; name a second that fits the same place")
        if figures["price"] not in data["prices"]:
            raise CircuitError(f"catalogue.yaml: {name} has price class {figures['price']}; use one of `prices`")
        types[name] = Type(name, figures.pop("kind"), figures.pop("rating"), figures.pop("price"), makers, figures)
    return types


def build(circuit: dict[str, Any], catalogue: dict[str, Any]) -> Circuit:
    """Check the two files against each other and make one circuit of them."""
    types, parts = _types(catalogue), dict[str, Part]()
    for block, content in circuit["blocks"].items():
        for ref, own in content["parts"].items():
            if ref in parts:
                raise CircuitError(f"circuit.yaml: {ref} is in {parts[ref].block} and in {block}; rename one")
            if own["type"] not in types:
                raise CircuitError(
                    f"circuit.yaml: {ref} has type {own['type']}, which catalogue.yaml lacks; add it there"
                )
            pins = {str(pin): str(net) for pin, net in own["pins"].items()}
            parts[ref] = Part(ref, block, types[own["type"]], pins, own.get("does", ""))
    prices = {name: (float(most), float(used)) for name, (most, used) in catalogue["prices"].items()}
    titles = {block: content["title"] for block, content in circuit["blocks"].items()}
    whole = Circuit(parts, titles, prices, tuple(circuit.get("extras", catalogue["extras"])))
    _refuse_loose_ends(whole)
    return whole


ENDS_HERE = {"serial_rx", "serial_tx"}
"""Nets that leave the bench inside the Nano, through its USB bridge."""


def _refuse_loose_ends(circuit: Circuit) -> None:
    for net, pins in circuit.nets().items():
        if len(pins) < 2 and net not in ENDS_HERE:
            raise CircuitError(
                f"circuit.yaml: net {net} has one pin, {pins[0][0]}.{pins[0][1]}; join it or mend its name"
            )


def listed(name: str) -> dict[str, Any]:
    """What stands in a YAML file of this folder; by PyYAML's parser in C, where it was built, ten times as fast."""
    made: dict[str, Any] = yaml.load((FOLDER / name).read_text("utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return made


BUILDS = {"full": "circuit.yaml", "evening": "evening/circuit.yaml", "lead": "lead/circuit.yaml"}
"""Where the circuit of each build is; they share the catalogue."""


@cache
def load(build_name: str = "full") -> Circuit:
    """The circuit of a build as committed."""
    return build(listed(BUILDS[build_name]), listed("catalogue.yaml"))
