"""Relays by contact form: which pairs each form closes at rest and with its coil on, and what follows from that.

Rule: whoever would ask which form a part has asks for its pairs instead; a form is a row here and nothing elsewhere.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import TYPE_CHECKING, ClassVar, Literal

from pulldrop.model.part.pair import ContactState, Pair, PairTable
from pulldrop.model.part.part import Part
from pulldrop.model.raw import Contact, Line

State = Literal["rest", "operated"]
COIL = ("85", "86")
NO, NC, TWIN = Pair("30", "87"), Pair("30", "87a"), Pair("30", "87b")
"""The throw that closes with the coil on, the one that opens, and the second blade 87 of a twin."""
SEEN_BY = {NO: Contact.NO, NC: Contact.NC, TWIN: Contact.NC}
"""The throw of the bench that sees a pair: it has two, and the second blade 87 of a twin lies in the place of 87a."""

TERMINALS = {Line.T30: "30", Line.T85: "85", Line.T86: "86", Line.T87: "87", Line.T87A: "87a"}
"""What is printed beside each terminal that the scan reaches."""


@dataclass(frozen=True, slots=True)
class PairChange:
    """One pair as it closes or opens."""

    pair: Pair
    closes: bool

    @property
    def verb(self) -> str:
        """`close` or `open`."""
        return "close" if self.closes else "open"

    @property
    def after(self) -> str:
        """What the pair is then: `closed` or `open`."""
        return "closed" if self.closes else "open"

    @property
    def code(self) -> str:
        """For machines: `30-87=1` as it closes."""
        return f"{self.pair}={int(self.closes)}"

    @property
    def undone(self) -> "PairChange":
        """The same pair the other way."""
        return PairChange(self.pair, not self.closes)

    def __str__(self) -> str:
        return f"{self.pair} {'closing' if self.closes else 'opening'}"


@dataclass(frozen=True, slots=True)
class RelayForm:
    """One contact form: what files call it and what people do, its contacts in words, and its table of closed pairs."""

    form: str
    called: str
    title: str
    table: PairTable

    @property
    def pairs(self) -> tuple[Pair, ...]:
        """Its contact pairs."""
        return self.table.pairs

    @property
    def throws(self) -> tuple[Contact, ...]:
        """The throws of the bench that see its pairs."""
        return tuple(SEEN_BY[pair] for pair in self.pairs)

    @property
    def terminals(self) -> tuple[str, ...]:
        """All its terminals, the coil's among them."""
        return tuple(sorted((*self.table.terminals, *COIL)))

    def at(self, state: State) -> ContactState:
        """The contacts of a sound part with the coil off, or on."""
        return self.table.at(state)

    def seen(self, state: State) -> Contact:
        """The throws that the bench then sees closed."""
        return reduce(or_, (SEEN_BY[pair] for pair in self.at(state).closed), Contact.NONE)

    @property
    def operates(self) -> PairChange:
        """What ends the operate time: a pair that closes with the coil on, or, where none does, one that opens."""
        return self._change("operated", "rest")

    @property
    def releases(self) -> PairChange:
        """What ends the release time: a pair that closes as the coil goes off, or, where none does, one that opens."""
        return self._change("rest", "operated")

    def _change(self, after: State, before: State) -> PairChange:
        closed, open = self.table.closed[after], self.table.closed[before]
        return PairChange(closed[0], closes=True) if closed else PairChange(open[0], closes=False)

    def __str__(self) -> str:
        return f"{len(self.terminals)} terminals, {self.title} ({self.called})"


FORMS: dict[str, RelayForm] = {
    one.form: one
    for one in (
        RelayForm("A", "Form A", "normally open", PairTable({"rest": (), "operated": (NO,)})),
        RelayForm("B", "Form B", "normally closed", PairTable({"rest": (NC,), "operated": ()})),
        RelayForm("C", "Form C", "changeover", PairTable({"rest": (NC,), "operated": (NO,)})),
        RelayForm("twin", "twin 87", "two make contacts", PairTable({"rest": (), "operated": (NO, TWIN)})),
    )
}
"""By the standard letters; twin: as A with a second blade 87, joined to it inside, in the place of 87a."""


def form_of(*pairs: Pair) -> RelayForm:
    """The form that has these pairs and no other. Raises KeyError where there is none."""
    by_pairs = {frozenset(one.pairs): one for one in FORMS.values()}
    return by_pairs[frozenset(pairs)]


COMMONEST_FIRST = (form_of(NO), form_of(NO, NC), form_of(NC), form_of(NO, TWIN))
"""The forms, those that vehicles have most of first (common practice)."""


def forms_in_words(forms: Iterable[str]) -> str:
    """`Form A or C`, `twin 87`; empty for none."""
    return " or ".join(FORMS[form].called for form in forms).replace(" or Form ", " or ")


if TYPE_CHECKING:
    Form = str
else:
    Form = Literal[*FORMS]


class Relay(Part):
    """A relay, or another part with a coil and such contacts."""

    noun: ClassVar[str] = "a relay"
    plural: ClassVar[str] = "relays"
    command: ClassVar[str] = "test"
    ratings: ClassVar[str] = "ratings"

    kind: Literal["relay"] = "relay"
    form: Form

    def __str__(self) -> str:
        return f"relay, {FORMS[self.form].title} ({FORMS[self.form].called})"
