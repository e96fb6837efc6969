"""What a virtual part truly is: what of it is not as in its class, and how a sorted crate of such parts did.

Rule: the truth is read from the specimen alone; nothing that was measured or judged has a say in it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from pulldrop.model.crate.crate import Bin
from pulldrop.plant.between_clips import InSocket
from pulldrop.plant.specimen import Specimen

ALIKE = 0.25
"""Sound parts of one class differ by less than this share in any figure (assumed)."""
NO_MATTER = ("title", "notes", "donor", "invented", "temperature_c", "winding_c", "suppression.kind",
             "suppression.resistor_ohm", "suppression.zener_v", "armature.friction_scatter")  # fmt: skip
"""What a sound part may have as it likes."""
WORN = {"contact_no.pitting_mohm": 5.0, "contact_nc.pitting_mohm": 5.0, "contact_no.bulk_mohm": 4.0,
        "contact_nc.bulk_mohm": 4.0, "armature.friction_n": 0.1}  # fmt: skip
"""Up to this a figure is that of a part in use."""


def unlike_its_class(specimen: Specimen) -> tuple[str, ...]:
    """Each figure that is not one of a sound part of its class, such as `contact_no.pitting_mohm 45`."""
    if isinstance(specimen, InSocket):
        return specimen.odd
    usual = dict(_leaves(Specimen(title="", base=specimen.base, form=specimen.form).model_dump()))
    odd = [(name, value) for name, value in _leaves(specimen.model_dump()) if _odd(name, value, usual.get(name))]
    across = specimen.suppression
    if across.kind == "resistor" and across.resistor_ohm < specimen.coil.resistance_ohm:
        odd.append(("suppression.resistor_ohm", across.resistor_ohm))
    return tuple(f"{name} {value:g}" if isinstance(value, float) else f"{name} {value}" for name, value in odd)


def _odd(name: str, value: object, usual: object) -> bool:
    if name in NO_MATTER or value == usual:
        return False
    if isinstance(value, bool) or not (isinstance(value, int | float) and isinstance(usual, int | float)):
        return True
    return value > WORN[name] if name in WORN else abs(value - usual) > ALIKE * abs(usual)


def _leaves(given: dict[str, Any], under: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in given.items():
        if isinstance(value, dict):
            yield from _leaves(value, f"{under}{key}.")
        else:
            yield f"{under}{key}", value


def revealed(specimen: Specimen) -> str:
    """What it truly is, in a sentence or two."""
    odd = unlike_its_class(specimen)
    told = f"Not as a sound part of its class: {', '.join(odd)}." if odd else "Sound: every figure is one of its class."
    return f"In truth: {specimen.title}{f' ({specimen.notes})' if specimen.notes else ''}. {told}"


@dataclass(frozen=True, slots=True)
class Score:
    """Of a virtual crate: by bin, how many parts were sound, and how many not; and those that went amiss.

    `kept_bad`: numbers and titles of parts that are used again and are not sound; `lost`: of sound ones in the scrap.
    """

    bins: tuple[tuple[Bin, int, int], ...]
    kept_bad: tuple[tuple[int, str], ...]
    lost: tuple[tuple[int, str], ...]


def score(sorted_: Iterable[tuple[Specimen, int, Bin]]) -> Score:
    """How a crate did."""
    listed = [(one, number, bin, not unlike_its_class(one)) for one, number, bin in sorted_]
    bins = ((bin, [sound for *_, of, sound in listed if of is bin]) for bin in Bin)
    return Score(
        tuple((bin, sum(found), len(found) - sum(found)) for bin, found in bins),
        tuple((number, one.title) for one, number, bin, sound in listed if bin is Bin.KEEP and not sound),
        tuple((number, one.title) for one, number, bin, sound in listed if bin is Bin.SCRAP and sound),
    )
