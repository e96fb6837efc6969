"""What is to be done to one part: the steps of a protocol, with every limit already a number."""

from typing import Self

from pydantic import Field

from pulldrop.model.bench.abilities import Abilities
from pulldrop.model.limit import Limit
from pulldrop.model.part.kinds import AnyRating
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import FORMS, Form
from pulldrop.model.raw import Frozen, OneLine
from pulldrop.model.run.purpose import Shipped
from pulldrop.model.steps import STEPS, AnyStep, yields
from pulldrop.model.steps.contacts.contact import ContactStep


class Plan(Frozen):
    """A protocol bound to a rating. `limits` by measurement id; `wanted` lists every id that must be reported.

    `unlimited` says, by id, why a limit that the protocol asks for could not be had from this rating; `left_out`, by
    kind of step, why a step of the protocol is not taken with parts of this system, or on the bench that it was fitted
    to; `not_here`, why that bench does no step of other kinds. `leads_on` are the protocols for
    what this one leaves out or finds unsure.
    `form`: of a relay. `text` is the protocol file as read; `sha256` its hash, stored with every run.
    """

    protocol: str
    version: int
    title: OneLine
    form: Form | None = None
    rating: AnyRating
    steps: tuple[AnyStep, ...]
    wanted: tuple[str, ...]
    limits: dict[str, Limit]
    unlimited: dict[str, str] = Field(default_factory=dict)
    left_out: dict[str, str] = Field(default_factory=dict)
    not_here: dict[str, str] = Field(default_factory=dict)
    leads_on: tuple[Shipped, ...] = ()
    text: str
    sha256: str

    @property
    def relay(self) -> Rating:
        """The rating of a relay, which rooms ask for that know relays alone."""
        assert isinstance(self.rating, Rating), f"{self.rating.rating} is of another kind"
        return self.rating

    @property
    def beyond(self) -> dict[str, str]:
        """What is wanted and this bench cannot measure of parts of this form: ids, each with the reason."""
        if self.form is None:
            return {}
        return {id: why for step in self.steps for id, why in step.beyond(FORMS[self.form]).items()}

    def fitted(self, able: Abilities, hand: bool) -> Self:
        """What of it a bench with these abilities does; `hand`: somebody stands by who turns a knob.

        Steps beyond it are left out with their reason, which a pass names; where nothing would be left, or nothing
        can be fed, none is, so that the run itself says why.
        """
        lacks = {step.measure: why for step in self.steps if (why := step.lacks(able, self.rating.system_v, hand))}
        steps = tuple(step for step in self.steps if step.measure not in lacks)
        never = {kind: why for one in self.leads_on for kind in one.steps if (why := STEPS[kind].never(able))}
        if not steps or able.coil == "none":
            return self
        if not lacks:
            return self.model_copy(update={"not_here": never}) if never else self
        given = {id for step in steps for id in yields(step, self.rating)}
        return self.model_copy(
            update={
                "steps": steps,
                "wanted": tuple(id for id in self.wanted if id in given),
                "limits": {id: limit for id, limit in self.limits.items() if id in given},
                "unlimited": {id: why for id, why in self.unlimited.items() if id in given},
                "left_out": self.left_out | lacks,
                "not_here": never,
            }
        )

    @property
    def load_a(self) -> float | None:
        """Amps at which contact drops are measured; None where no step measures them."""
        return next((step.load for step in self.steps if isinstance(step, ContactStep)), None)

    @property
    def strongest_v(self) -> float:
        """Highest volts that the steps put on the coil, overdrive left out: what hardened iron keeps is of these."""
        return max([self.relay.nominal, *(step.held_v(self.relay.nominal) for step in self.steps)])
