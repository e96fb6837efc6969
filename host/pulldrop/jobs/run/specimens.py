"""The part in the socket of a simulated board: from stock by name, from a file, or none at all."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from pulldrop.model.part.kinds import not_tested
from pulldrop.model.part.kinds.two_terminal import TwoTerminal, TwoTerminalRating
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.rating import KindRating
from pulldrop.plant import stock
from pulldrop.plant.pair.fuse import cold_mohm
from pulldrop.plant.parts import SPECIMENS
from pulldrop.plant.parts.switch import SwitchSpecimen
from pulldrop.plant.parts.two_terminal import TwoTerminalSpecimen
from pulldrop.plant.shape import KindSpecimen
from pulldrop.plant.specimen import Specimen
from pulldrop.text.document import parse, read
from pulldrop.text.shape import fit, fit_kind

EMPTY_SOCKET = """\
title: empty socket, stood in for by an open coil and an armature that never moves
form: A
faults: {coil_open: true, stuck: at rest}
"""
"""Nothing conducts between any two terminals."""


class UnknownSpecimen(Exception):
    """No file and no stock of that name, or no kind of part that is tested; the message is a sentence for a person."""


@dataclass(frozen=True, slots=True)
class VirtualPart:
    """A specimen, and the YAML that it came from, which is kept with the run."""

    specimen: Specimen
    text: str


def empty_socket() -> VirtualPart:
    """No part."""
    return VirtualPart(fit(parse(EMPTY_SOCKET, "empty socket"), Specimen), EMPTY_SOCKET)


def in_stock() -> tuple[tuple[str, Specimen], ...]:
    """Every part in stock by its name."""
    return tuple((name, find(name).specimen) for name in stock.names())


def find(name_or_path: str) -> VirtualPart:
    """A part from stock, or from a YAML file, to be tested. Raises UnknownSpecimen and BadText."""
    specimen, text = any_kind(name_or_path)
    if isinstance(specimen, TwoTerminalSpecimen):
        raise UnknownSpecimen(f"'{specimen.title}' is {TwoTerminal.noun}. Test it: pulldrop pair --specimen FILE")
    if not isinstance(specimen, Specimen):
        raise UnknownSpecimen(not_tested(f"'{specimen.title}'", specimen.kind))
    return VirtualPart(specimen, text)


def find_switch(path: str, bare: bool) -> VirtualPart:
    """A virtual switch from a YAML file, on the lines of a full or a bare board. Raises UnknownSpecimen and BadText."""
    specimen, text = any_kind(path)
    if not isinstance(specimen, SwitchSpecimen):
        raise UnknownSpecimen(f"'{specimen.title}' is no switch, but of the kind '{specimen.kind}'")
    return _on_lines(specimen, text, bare)


def made_switch(
    title: str, positions: Mapping[str, tuple[Pair, ...]], springs: Mapping[str, str], bare: bool
) -> VirtualPart:
    """A sound virtual switch with these closed pairs, and these positions that spring back."""
    given = {name: [str(pair) for pair in pairs] for name, pairs in positions.items()}
    text = json.dumps(
        {"title": f"made from the table: {title}", "kind": "switch", "positions": given, "springs": dict(springs)}
    )
    return _on_lines(fit(parse(text, "switch"), SwitchSpecimen), text, bare)


def find_any(name_or_path: str) -> VirtualPart:
    """A relay, a fuse or a lamp, from stock or a file. Raises UnknownSpecimen and BadText."""
    pair = isinstance(any_kind(name_or_path)[0], TwoTerminalSpecimen)
    return find_pair(name_or_path) if pair else find(name_or_path)


def find_pair(name_or_path: str) -> VirtualPart:
    """A virtual fuse or lamp from a YAML file. Raises UnknownSpecimen and BadText."""
    specimen, text = any_kind(name_or_path)
    if not isinstance(specimen, TwoTerminalSpecimen):
        raise UnknownSpecimen(f"'{specimen.title}' is no part with two terminals, but of the kind '{specimen.kind}'")
    return VirtualPart(specimen.in_socket(), text)


def made_pairs(rating: KindRating) -> list[VirtualPart]:
    """Virtual parts of this rating as they lie in a box: most are sound."""
    assert isinstance(rating, TwoTerminalRating)
    noun = rating.component
    wrong: dict[str, dict[str, object]] = {
        f"blown or broken {noun}": {"open": True},
        f"{noun} with a crack in it": {"crack_mohm": 300.0},
        f"{noun} with slag on its blades": {"crust_mohm": 300.0},
        f"{noun} with foil in place of its element": {"bridge_mohm": 0.5},
    }
    return [made_pair(rating, f"sound {noun}") for _ in range(4)] + [
        made_pair(rating, title, faults) for title, faults in wrong.items()
    ]


def made_pair(rating: KindRating, title: str = "", faults: Mapping[str, object] | None = None) -> VirtualPart:
    """A virtual part of this rating, sound but for the faults."""
    assert isinstance(rating, TwoTerminalRating)
    given: dict[str, object] = {
        "title": title or f"made from the rating: {rating.title}", "kind": rating.kind, "component": rating.component,
        "faults": dict(faults or {}),
    }  # fmt: skip
    if rating.component == "fuse" and rating.current is not None:
        typical = cold_mohm("regular", rating.current) * 1e-3
        given |= {"rated_a": rating.current, "factor": (rating.resistance or typical) / typical}
    elif rating.component == "lamp":
        given |= {"volts": rating.nominal, "amps": rating.current}
    else:
        given["ohm"] = rating.resistance or 1.0
    text = json.dumps(given)
    return VirtualPart(fit(parse(text, "pair"), TwoTerminalSpecimen).in_socket(), text)


def _on_lines(specimen: SwitchSpecimen, text: str, bare: bool) -> VirtualPart:
    inserted = specimen.in_socket()
    return VirtualPart(inserted.on_bare() if bare else inserted, text)


def any_kind(name_or_path: str) -> tuple[KindSpecimen, str]:
    """A part of whatever kind, and its YAML. Raises UnknownSpecimen and BadText."""
    if name_or_path in stock.names():
        document = parse(stock.text(name_or_path), name_or_path)
    elif _is_path(name_or_path):
        document = read(Path(name_or_path))
    else:
        raise UnknownSpecimen(_no_such(name_or_path))
    return fit_kind(document, SPECIMENS, "relay"), document.text


def _is_path(name_or_path: str) -> bool:
    return Path(name_or_path).suffix in (".yaml", ".yml") or Path(name_or_path).is_file()


def _no_such(name: str) -> str:
    near = get_close_matches(name, stock.names(), 1)
    hint = f"did you mean '{near[0]}'?" if near else "'pulldrop specimen list' shows what is in stock"
    return f"there is no specimen '{name}' in stock, and no such file; {hint}"
