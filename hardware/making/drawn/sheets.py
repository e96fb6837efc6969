"""All sheets of the schematic, one a block; each is drawn and then traced back to nets."""

from collections.abc import Callable

from making.circuit import Circuit
from making.drawn import place_coil, place_contact, place_scan
from making.drawn.sheet import Sheet

SHEETS: tuple[Callable[[Sheet], None], ...] = (
    place_coil.supply,
    place_coil.logic,
    place_coil.coil_supply,
    place_coil.coil_switch,
    place_contact.contact,
    place_contact.load_supply,
    place_contact.branches,
    place_contact.pulse_limit,
    place_scan.scan,
    place_scan.scan_lines,
    place_scan.vehicle,
    place_scan.stand_in,
)


def drawn(circuit: Circuit) -> list[Sheet]:
    """All sheets, drawn; one a block."""
    found = []
    for number, draw in enumerate(SHEETS, 1):
        block = draw.__name__
        sheet = Sheet(circuit, f"{number:02d}_{block}", f"{number}. {circuit.titles[block]}")
        draw(sheet)
        found.append(sheet)
    return found
