"""The shape of one virtual part: what it starts from, what differs, and what is wrong with it."""

from typing import Any, Literal

from pydantic import Field, field_validator, model_validator

from pulldrop.model.part.relay import FORMS, Form
from pulldrop.plant.network import Element
from pulldrop.plant.relay.armature import Armature
from pulldrop.plant.relay.classes import CLASSES, Base
from pulldrop.plant.relay.coil import Coil
from pulldrop.plant.relay.contact import ContactModel
from pulldrop.plant.relay.parts import RelayParts
from pulldrop.plant.relay.relay import RelayModel
from pulldrop.plant.relay.suppression import Harness, Suppression
from pulldrop.plant.relay.terminals import Leak, blades, coil, contacts, exchanged
from pulldrop.plant.shape import KindSpecimen, Shape

STUCK_N = 1000.0
"""Hinge friction that no coil overcomes."""


class Faults(Shape):
    """What went wrong with the part since it was made, as changes of its physics."""

    coil_open: bool = Field(default=False, description="the winding is broken")
    coil_ohm_percent: float = Field(default=0.0, gt=-90, le=1000, description="change of the winding's resistance")
    shorted_turns_percent: float = Field(
        default=0.0, ge=0, le=90, description="share of the turns that are shorted, a secondary winding of its own"
    )
    return_spring_percent: float = Field(default=100.0, ge=0, le=300, description="what is left of the return spring")
    leaf_spring_percent: float = Field(
        default=100.0, gt=0, le=300, description="what is left of the contact leaf's rate"
    )
    extra_friction_n: float = Field(default=0.0, ge=0, le=1000, description="dirt or rust in the hinge")
    stuck: Literal["free", "at rest", "operated"] = Field(default="free", description="armature that does not move")
    gummed_s: float = Field(
        default=0.0, ge=0, le=60, description="how long the first pull must last before the armature comes loose"
    )
    welded: Literal["none", "contact_no", "contact_nc"] = Field(default="none", description="throw that is welded shut")
    coil_opens_above_c: float | None = Field(
        default=None, ge=-40, le=200, description="temperature of the winding above which a cracked joint opens"
    )
    tacks_a: float | None = Field(
        default=None, gt=0, le=1000, description="load current that welds 87; the weld stands `weld_n`"
    )
    hot_weld_n_per_as: float | None = Field(
        default=None,
        gt=0,
        le=1e6,
        description="force that 87 is welded with by each ampere-second that flows while it bounces (assumed)",
    )
    hot_weld_nc_n_per_as: float | None = Field(default=None, gt=0, le=1e6, description="the same of 87a")
    leaks: tuple[Leak, ...] = Field(default=(), description="carbon tracks and water between terminals")
    weld_n: float = Field(default=50.0, gt=0, le=1e4, description="force that would tear the weld")

    @field_validator("leaks", mode="before")
    @classmethod
    def _from_a_list(cls, given: Any) -> Any:
        """YAML has lists alone, and what a validator handed on counts as Python, where a strict tuple is one."""
        return tuple(given) if isinstance(given, list) else given


class Specimen(KindSpecimen):
    """One virtual relay. What is not given is taken from `base`; everything is invented unless it says otherwise."""

    kind: Literal["relay"] = Field(default="relay", description="kind of part")
    base: Base = Field(default="mini_12v_changeover", description="class of part whose physics it starts from")
    form: Form = Field(
        default="C",
        description=f"contact form: {', '.join(f'{one.form} ({one.title})' for one in FORMS.values())}",
    )
    layout: Literal["usual", "exchanged"] = Field(
        default="usual", description="exchanged: blades 30 and 86 have changed places"
    )
    nominal_v: float = Field(default=12.0, gt=0, le=48, description="coil voltage that the part is taken for")
    temperature_c: float | None = Field(
        default=None, ge=-40, le=125, description="of part and bench; without it 20 to 25, drawn from the seed"
    )
    winding_c: float | None = Field(
        default=None, ge=-40, le=125, description="of its winding as it comes into the socket; without it as the bench"
    )
    coil: Coil = Field(default_factory=Coil, description="winding and iron")
    armature: Armature = Field(default_factory=Armature, description="moving parts")
    suppression: Suppression = Field(default_factory=Suppression, description="suppressor inside the part")
    contact_no: ContactModel = Field(default_factory=ContactModel, description="the normally open throw, 87")
    contact_nc: ContactModel = Field(default_factory=ContactModel, description="the normally closed throw, 87a")
    faults: Faults = Field(default_factory=Faults, description="what is wrong with it")

    @model_validator(mode="before")
    @classmethod
    def _start_from_base(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        base = given.get("base", "mini_12v_changeover")
        return _over(next((own for name, own in CLASSES.items() if name == base), {}), given)

    @property
    def contacts(self) -> tuple[ContactModel, ContactModel]:
        """NO and NC, as the bench asks them for their ohms."""
        return (self.contact_no, self.contact_nc)

    def relay(self, temperature_c: float, seed: int | None, harness: Harness) -> RelayModel:
        """The part on a bench, from now on; a part with another physics overrides this and `contacts`."""
        return RelayModel(parts(self), temperature_c, seed, harness)

    def on_bare(self) -> "Specimen":
        """The same on the lines of a bare board: those of the socket."""
        return self

    def in_socket(self) -> "Specimen":
        """See `KindSpecimen`."""
        return self

    def network(self, relay: RelayModel, ohm: tuple[float | None, float | None], _time_s: float) -> tuple[Element, ...]:
        """The part between the bench's terminals at a moment, for a few mA; `ohm`: of throws that touch, NO first."""
        elements = coil(relay.ohm, relay.parts.suppression) + contacts(self.form, ohm)
        for leak in self.faults.leaks:
            elements += leak.elements()
        return tuple(elements if self.layout == "usual" else exchanged(elements))


def _over(under: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    """`given` laid over `under`, tables inside tables as well."""
    laid = dict(under)
    for key, value in given.items():
        below = laid.get(key)
        laid[key] = _over(below, value) if isinstance(below, dict) and isinstance(value, dict) else value
    return laid


def parts(specimen: Specimen) -> RelayParts:
    """The physics of the part with its faults in."""
    faults, arm = specimen.faults, specimen.armature
    left = faults.return_spring_percent / 100
    worn = arm.model_copy(
        update={
            "return_n": arm.return_n * left,
            "return_n_per_mm": arm.return_n_per_mm * left,
            "leaf_n_per_mm": arm.leaf_n_per_mm * faults.leaf_spring_percent / 100,
            "friction_n": STUCK_N if faults.stuck != "free" else arm.friction_n + faults.extra_friction_n,
        }
    )
    return RelayParts(
        coil=specimen.coil,
        armature=worn,
        suppression=specimen.suppression,
        changeover=blades(specimen.form).nc,
        coil_open=faults.coil_open,
        coil_factor=1 + faults.coil_ohm_percent / 100,
        shorted_fraction=faults.shorted_turns_percent / 100,
        weld_no_n=faults.weld_n if faults.welded == "contact_no" else 0.0,
        weld_nc_n=faults.weld_n if faults.welded == "contact_nc" else 0.0,
        starts_operated=faults.stuck == "operated",
        opens_above_c=faults.coil_opens_above_c,
        gummed_s=faults.gummed_s,
        winding_c=specimen.winding_c,
        residual_at_a=specimen.nominal_v / specimen.coil.resistance_ohm * specimen.coil.turns,
    )
