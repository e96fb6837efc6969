"""The published sheets that virtual parts are wound to, and how each of their figures is known.

A sheet is a rating file with its source: most of them ship with pulldrop, the rest lie in `sheets/` beside this file.
The lines that parts are put beside come from `makers_sheets.py`, where the sheets' figures are written down again.
READ: the figures were read in the maker's data sheet or a distributor's copy of it. SECOND HAND: a distributor's page.

| type | how known |
|---|---|
| Hongfa HFV4, 12 and 24 V, forms A and C | READ |
| Hongfa HFV15 | READ; coil SECOND HAND |
| TE Power Relay F4 | READ; coil SECOND HAND; its times are typical ones, hence no limit |
| TE Power Relay K | READ; its times are typical ones, hence no limit |
| Panasonic CB1F-D | coil, 7 V, 1.2 V, 1: changeover, D: with diode READ; operate SECOND HAND; release not found |
| Panasonic CB1F-R | SECOND HAND: changeover, 134 mA, 7 V, 1.2 V; R: with resistor, and 15 ms, READ |
| Panasonic CM1, CM1a, 12 and 24 V, also with resistor or diode | READ; 1.7 W with resistor; 15 ms with diode |
| CIT A2, 12 and 24 V, two coils each; CIT A1 micro, two coils | READ |
| Foocles micro | READ |
| Durakool DG55 with resistor, forms A and C | READ: 1.8 W with resistor |
| OEN 79 | READ: times at nominal voltage, without suppression, bounce excluded |

The resistors: 680 ohm at 12 V is the least that the Panasonic CB sheet advises (READ), and what the two coils with
resistor fit (inferred: 102.6 beside 680 is 89.2 ohm, 96 beside 680 is 84.1); 2700 ohm at 24 V is that of a Foocles
micro relay of 320 ohm (READ).
"""

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Literal

from makers_sheets import BY_NAME, Row

from pulldrop.model.part.rating import Rating
from pulldrop.plant.relay.classes import Base
from pulldrop.protocol.ratings.files import load_rating

Suppressor = Literal["none", "resistor", "diode"]
RESISTOR_OHM = {12.0: 680.0, 24.0: 2700.0}
MINI: dict[tuple[str, float], Base] = {
    ("A", 12.0): "mini_12v_normally_open",
    ("C", 12.0): "mini_12v_changeover",
    ("A", 24.0): "mini_24v_normally_open",
    ("C", 24.0): "mini_24v_changeover",
}


@dataclass(frozen=True)
class Sheet:
    """`suppressor`: what the type carries; `base`: the class of part whose iron and springs it is wound on."""

    maker: str
    name: str
    suppressor: Suppressor = "none"
    micro: bool = False

    @property
    def file(self) -> Path:
        """The rating file."""
        return self.published.file

    @property
    def published(self) -> Row:
        """Its figures as published, independent of the rating file."""
        return BY_NAME[self.name]

    @cached_property
    def rating(self) -> Rating:
        """Its figures as the program has them."""
        return load_rating(self.file)

    @property
    def base(self) -> Base:
        """Class of virtual part; there is no micro part of 24 V, nor a normally open one."""
        rating = self.rating
        small = self.micro and (rating.form, rating.nominal) == ("C", 12.0)
        return "micro_12v_changeover" if small else MINI[rating.form, rating.nominal]

    @property
    def resistor_ohm(self) -> float:
        """Of the suppressor, where the type has a resistor."""
        return RESISTOR_OHM[self.rating.nominal]


SHEETS = (
    Sheet("Hongfa", "hongfa-hfv4-12v-form-a"),
    Sheet("Hongfa", "hongfa-hfv4-12v-form-c"),
    Sheet("Hongfa", "hongfa-hfv4-24v-form-a"),
    Sheet("Hongfa", "hongfa-hfv4-24v-form-c"),
    Sheet("Hongfa", "hongfa-hfv15-12v-form-c"),
    Sheet("TE Connectivity", "te-f4-12v-form-c"),
    Sheet("TE Connectivity", "te-k-12v-form-c"),
    Sheet("Panasonic", "panasonic-cb-12v-form-c-diode", "diode"),
    Sheet("Panasonic", "panasonic-cb-12v-form-c-resistor", "resistor"),
    Sheet("Panasonic", "panasonic-cm-12v-form-a", micro=True),
    Sheet("Panasonic", "panasonic-cm-24v-form-c", micro=True),
    Sheet("Panasonic", "panasonic-cm-12v-form-c-resistor", "resistor", micro=True),
    Sheet("Panasonic", "panasonic-cm-12v-form-c-diode", "diode", micro=True),
    Sheet("CIT", "cit-a2-12v-90ohm-form-c"),
    Sheet("CIT", "cit-a2-12v-76ohm-form-c"),
    Sheet("CIT", "cit-a2-24v-360ohm-form-c"),
    Sheet("CIT", "cit-a2-24v-303ohm-form-c"),
    Sheet("CIT", "cit-a1-12v-120ohm-form-c", micro=True),
    Sheet("CIT", "cit-a1-12v-96ohm-form-c", micro=True),
    Sheet("Foocles", "foocles-micro-12v-form-c", micro=True),
    Sheet("Durakool", "durakool-dg55-12v-form-a", "resistor"),
    Sheet("Durakool", "durakool-dg55-12v-form-c", "resistor"),
    Sheet("OEN", "oen-79-12v-form-c"),
)
