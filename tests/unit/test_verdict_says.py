"""A verdict says what the protocol left out, and what it takes a person's word for."""

import pytest

from pulldrop.judge import verdict
from pulldrop.judge.diagnosis import diagnose
from pulldrop.model.fault import NamedFault
from pulldrop.model.reading import NotTested, Reading
from pulldrop.model.verdict import Judged, Outcome, Overall, Verdict
from pulldrop.protocol.load import plan

WORD = "rests on a person's word"


def passed(name: str, reversed: bool = True, faults: tuple[NamedFault, ...] = ()) -> Verdict:
    """Of a part that met every limit; `reversed`: its coil leads were exchanged, where the protocol asks for it."""
    at = plan(name)
    found = [Judged(id=id, outcome=Outcome.PASS, reason="met", finding=Reading(id=id, unit="")) for id in at.wanted]
    if not reversed:
        left = NotTested(id="contact_reversed", reason="left out")
        found = [j if j.id != left.id else j.model_copy(update={"finding": left}) for j in found]
    return verdict(at, found, "complete", faults=faults)


@pytest.mark.parametrize("kind", ["5t-12v-quick", "5t-12v-full", "4t-24v-full"])
def test_a_pass_without_a_hot_make_names_it_and_the_protocol_that_makes_one(kind: str) -> None:
    told = passed(f"relay-{kind}")
    assert told.overall is Overall.PASS
    assert "Not tested: hot make (tacking), insulation (the protocol that ends in -diagnose does)" in told.next
    assert "coil when hot (the protocol that ends in -soak does)" in told.next


def test_a_pass_by_the_diagnosis_names_what_that_leaves_out_and_nothing_else() -> None:
    assert passed("relay-5t-12v-diagnose").next.startswith(
        "Keep it. Not tested: coil when hot (the protocol that ends in -soak does). A bench"
    )


def test_a_pass_of_a_part_that_is_going_names_what_is_and_does_not_say_that_it_is_good() -> None:
    faults = (
        NamedFault(id="weak_spring", title="return spring weak", weight=0.7, advice="Not where it must let go."),
        NamedFault(id="film_no", title="film on the NO contact", weight=0.6, advice="Clean it."),
    )
    told = passed("relay-5t-12v-full", faults=faults)
    assert told.overall is Overall.PASS
    assert told.found.endswith("but not as by a sound part: return spring weak; film on the NO contact.")
    assert "is good" not in told.means and "Keep it" not in told.next
    assert told.next.startswith("Not where it must let go. Clean it. Not tested: hot make")


def test_reversed_pulses_rest_on_a_persons_word_and_the_verdict_says_so() -> None:
    assert WORD in passed("relay-5t-12v-reversed").means
    assert WORD not in passed("relay-5t-12v-reversed", reversed=False).means
    assert WORD not in passed("relay-5t-12v-full").means


def test_a_fault_named_by_reversed_pulses_shows_whose_word_that_is() -> None:
    found = [
        Reading(id=id, unit="", state=state)
        for id, state in (
            ("contact_rest", "NO open, NC closed"),
            ("contact_released", "NO closed, NC open"),
            ("contact_reversed", "NO open, NC closed"),
        )
    ]
    (named,) = diagnose(plan("relay-5t-12v-reversed"), found)
    assert any("if the leads were exchanged as the person said" in one.text for one in named.evidence)
