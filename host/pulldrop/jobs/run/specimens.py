"""The part in the socket of a simulated board: from stock by name, from a file, or none at all."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from pulldrop.model.part.kinds import PARTS, TESTED, UNSAID, not_tested
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.rating import KindRating
from pulldrop.plant import stock
from pulldrop.plant.parts import SPECIMENS
from pulldrop.plant.parts.switch import SwitchSpecimen
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


def find(name_or_path: str, *kinds: str) -> VirtualPart:
    """A part of these kinds, else a relay, from stock or from a YAML file. Raises UnknownSpecimen and BadText."""
    specimen, text = any_kind(name_or_path)
    kind = PARTS[specimen.kind]
    if specimen.kind not in TESTED:
        raise UnknownSpecimen(not_tested(f"'{specimen.title}'", specimen.kind))
    if specimen.kind not in (kinds or (UNSAID,)):
        raise UnknownSpecimen(f"'{specimen.title}' is {kind.noun}. Test it: pulldrop {kind.command} --specimen FILE")
    return VirtualPart(specimen.in_socket(), text)


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


def made(rating: KindRating) -> VirtualPart:
    """A sound virtual part of this rating."""
    title = f"made from the rating: {rating.title}"
    return _by_rating(rating, {"title": title, **SPECIMENS[rating.kind].sound(rating.model_dump())})


def box(rating: KindRating) -> list[VirtualPart]:
    """Virtual parts of such a kind as they lie in a box: those in stock, else some made from the rating."""
    stocked = [specimen for name in stock.names() if (specimen := any_kind(name))[0].kind == rating.kind]
    if stocked:
        return [VirtualPart(specimen.in_socket(), text) for specimen, text in stocked]
    return [_by_rating(rating, given) for given in SPECIMENS[rating.kind].box(rating.model_dump())]


def _by_rating(rating: KindRating, given: Mapping[str, object]) -> VirtualPart:
    text = json.dumps({**given, "kind": rating.kind})
    return VirtualPart(fit(parse(text, "rating"), SPECIMENS[rating.kind]).in_socket(), text)


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
    return fit_kind(document, SPECIMENS, UNSAID), document.text


def _is_path(name_or_path: str) -> bool:
    return Path(name_or_path).suffix in (".yaml", ".yml") or Path(name_or_path).is_file()


def _no_such(name: str) -> str:
    near = get_close_matches(name, stock.names(), 1)
    hint = f"did you mean '{near[0]}'?" if near else "'pulldrop specimen list' shows what is in stock"
    return f"there is no specimen '{name}' in stock, and no such file; {hint}"
