"""What the table of faults says of one contact form.

Rule: the table is written for parts that have NO. Without it a part shows its own pairs alone, and NC operates it.
"""

from dataclasses import replace

from pulldrop.judge.diagnosis.bands import AnySign, Band, Expected
from pulldrop.judge.diagnosis.fault import PartFault
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.judge.diagnosis.sound import sound
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.relay import FORMS, NO, Form, RelayForm

SOONER = 0.5
"""NC opens before NO would close, after this share of that time at the soonest (0.62 to 0.95 on 45 and 0.50 to 0.85 on
78 drawn parts of the two plants; 0.70 on a relay that somebody timed, see the published checks)."""


def faults_of(form: Form) -> tuple[PartFault, ...]:
    """The faults that a part of this form can have."""
    of = FORMS[form]
    mine = (fault for fault in FAULTS if set(fault.pairs) <= set(of.pairs))
    return tuple(
        replace(
            fault,
            advice=fault.advice + (fault.spared if NO in of.pairs else ""),
            does={key: _shown(of, key, one) for key, one in fault.does.items()},
        )
        for fault in mine
    )


def sound_of(form: Form, tolerance: float, suppression: str | None) -> dict[str, Expected]:
    """What a sound part of this form shows; see `sound`."""
    of = FORMS[form]
    return {key: _shown(of, key, one) for key, one in sound(tolerance, suppression, form).items()}


def _shown(form: RelayForm, key: str, expected: Expected) -> Expected:
    if NO in form.pairs:
        return expected
    if isinstance(expected, AnySign):
        own = (_own(form, one) if isinstance(one, ContactState) else one for one in expected.any_of)
        return AnySign(tuple(dict.fromkeys(one for one in own if one is not None)))
    if key == "operate" and isinstance(expected, Band):
        return replace(expected, low=SOONER * expected.low)
    return expected


def _own(form: RelayForm, state: ContactState) -> ContactState | None:
    """A state as a part of this form shows it; None where it shows nothing of it."""
    looked = [pair for pair in form.pairs if pair in (*state.closed, *state.open)]
    return ContactState.of(looked, (pair for pair in looked if pair in state.closed)) if looked else None
