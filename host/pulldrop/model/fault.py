"""What the diagnosis found: a named fault, the evidence for and against it, and what to do with the part."""

from typing import Literal

from pydantic import Field

from pulldrop.model.raw import Frozen


class Evidence(Frozen):
    """One reading that has a say; `speaks` whether for the fault, or against it. `text` is a plain sentence."""

    id: str
    text: str
    speaks: Literal["for", "against"]


class NamedFault(Frozen):
    """One finding. `weight`: how probable it is among all causes known here, 0 to 1.

    `rivals`: ids of causes that these readings do not tell from it; `further` the test that would, else empty.
    """

    id: str
    title: str
    weight: float = Field(ge=0, le=1)
    advice: str
    evidence: tuple[Evidence, ...] = ()
    rivals: tuple[str, ...] = ()
    further: str = ""
