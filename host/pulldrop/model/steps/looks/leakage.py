"""Settings of the insulation."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.part.relay import NO, RelayForm
from pulldrop.model.step import Step

WITHOUT_87 = "the bench puts its 5 V on 87, which this part lacks, and its contact is open only with the coil on"


class LeakageStep(Step):
    """Insulation of the open contact, and of the coil from the contacts, at 5 V by the terminal scan."""

    title: ClassVar[str] = "insulation between terminals"
    gives: ClassVar[tuple[str, ...]] = ("leakage_open_contact", "leakage_coil_contact")
    fed: ClassVar[bool] = False
    pairs: ClassVar[bool] = True

    measure: Literal["leakage"]
    looks: int | None = Field(
        default=None, ge=1, le=16, description="looks at each pair, 33 ms each; left out: 4, on a bare board 2"
    )

    @classmethod
    def beyond(cls, form: RelayForm) -> dict[str, str]:
        """See `Step`."""
        return {} if NO in form.pairs else dict.fromkeys(cls.gives, WITHOUT_87)

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return 0.0
