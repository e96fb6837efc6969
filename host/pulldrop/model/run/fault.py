"""What the diagnosis found: a named fault, the evidence for and against it, and what to do with the part."""

from collections.abc import Sequence
from typing import Literal

from pydantic import Field

from pulldrop.model.raw import Frozen, OneLine

HARMFUL = ("coil_shorted", "diode_reversed")
"""Findings for which a part must not be energised."""

NOT_JUDGED = ("diode_reversed", "no_relay", "normally_closed", "normally_open", "wrong_voltage")
"""Findings that say why a protocol cannot judge the part, which may be a good one: fed so, or of that form or volts."""

TEST_AGAIN = ("corroded_blade", "terminal_no", "terminal_nc", "film_no", "film_nc", "leak_contact", "leak_coil")
"""Findings that a person, or one more load, may mend: the part is tested again before it is scrapped."""

LATCHES = ("held_operated", "held_magnetised")
"""Faults that a latching type shows by design."""

TIE = 0.05
"""Two rivals whose weights differ by no more are equally likely (assumed): figures of the rules are no exacter."""


class Evidence(Frozen):
    """One reading that has a say; `speaks` whether for the fault, or against it. `text` is a plain sentence."""

    id: str
    text: OneLine
    speaks: Literal["for", "against"]


class NamedFault(Frozen):
    """One finding. `weight`: how probable it is among all causes known here, 0 to 1.

    `never_fit`: the advice is to fit the part nowhere. `rivals`: ids of causes that these readings do not tell from it,
    `rival_titles` the same as sentences name them; `further` the test that would tell, else empty.
    """

    id: str
    title: OneLine
    weight: float = Field(ge=0, le=1)
    advice: OneLine
    never_fit: bool = False
    evidence: tuple[Evidence, ...] = ()
    rivals: tuple[str, ...] = ()
    rival_titles: tuple[OneLine, ...] = ()
    further: OneLine = ""


TEST_THREE = (
    "Test three of its kind the same way: if they read alike, it is their design; if this one stands alone, something"
    " is wrong with it, and 'pulldrop store rejudge RUN --beside' with their ids says what. A maker's sheet (--rating)"
    " has limits for its coil, and for its springs if it gives the lowest pull-in too."
)

OF_ANOTHER_TYPE = (
    "Hold what is printed on its case against its siblings': it may be of another type. If it is of theirs, do not"
    " trust it, and test it again soon."
)


class Unlike(Frozen):
    """Readings that are not those of sound parts of its class, though no fault is known by them.

    It is no fault, and neither a pass nor a fail: a part of another design reads so too. `may_be`: ids of what only a
    reference (three siblings, or a maker's sheet) would tell from another design, the most probable first; `text` says
    the same in words, `next` what to do; `evidence`: the unusual readings.
    """

    text: OneLine
    may_be: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    next: OneLine = TEST_THREE


def likely(faults: Sequence[NamedFault]) -> tuple[NamedFault, ...]:
    """The most probable fault, and those that are there beside it rather than in its place."""
    return tuple(one for one in faults if faults[0].id not in one.rivals)


def tied(faults: Sequence[NamedFault]) -> tuple[NamedFault, ...]:
    """The most probable fault, and its rivals that are as likely; empty for no fault."""
    return tuple(
        one
        for place, one in enumerate(faults)
        if not place or (one.id in faults[0].rivals and abs(faults[0].weight - one.weight) <= TIE)
    )
