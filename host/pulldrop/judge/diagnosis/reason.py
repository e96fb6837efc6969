"""Which faults explain all the evidence best: every single fault and every pair, weighed by Bayes' rule.

A reading that no fault of a set explains costs it, and so does one that a fault foretells and that is not there. The
part as sound is one of the sets; while it is the best, nothing is found. Every set is weighed twice: for a part of a
usual design, and for one of a design that nobody has measured, whose coil, springs and times may be nearly anything.
What that explains as well as a fault does is no fault: such a part is unlike its class.
"""

import math
from collections.abc import Iterable, Mapping
from itertools import combinations
from typing import NamedTuple

from pulldrop.judge.decide import judge_finding
from pulldrop.judge.diagnosis.bands import AnySign, Anything, Band, Expected, Like, Missing, Perhaps, agreement, outside
from pulldrop.judge.diagnosis.evidence.clue import Clue
from pulldrop.judge.diagnosis.evidence.clues import DROPS, clues
from pulldrop.judge.diagnosis.fault import PartFault
from pulldrop.judge.diagnosis.faults import FAULTS, LIMITS_MET
from pulldrop.judge.diagnosis.forms import faults_of, sound_of
from pulldrop.judge.diagnosis.high_coil import without_moot
from pulldrop.judge.diagnosis.kinds import NAMED
from pulldrop.judge.diagnosis.shifts import ALWAYS, SHIFTS
from pulldrop.judge.diagnosis.siblings import (
    OTHER_SUPPRESSORS,
    beside,
    by_span,
    centres,
    held_beside,
    other_suppressors,
)
from pulldrop.judge.diagnosis.siblings import alone as stands_alone
from pulldrop.judge.diagnosis.sound import BY_DESIGN, of_any_design, promised
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.reading import Finding, of_another_form
from pulldrop.model.run.fault import OF_ANOTHER_TYPE, TEST_THREE, Evidence, NamedFault, Unlike
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Outcome

Set = tuple[PartFault, ...]
USUAL_TOLERANCE = 0.1
"""Of a coil whose rating gives none (common practice)."""
SHOWN_FROM = 0.10
"""A cause less probable than this is not named (assumed)."""
RIVAL_FROM = 0.05
"""A cause that the best one does not outweigh by more than twenty is its rival (assumed)."""
OTHER_DESIGN = 0.1
"""Share of parts whose design is none of the usual ones (assumed). A maker's sheet says little of a design, too."""
OTHER_TYPE = 0.02
"""Share of parts that are of another type than the siblings that they are held against (assumed)."""
OF_THE_ARMATURE = frozenset(one.id for one in FAULTS if "gap" in one.does)
"""Of its spring, iron and hinge only one thing is wrong: each moves pull-in and drop-out, and together they hide."""
NO_FAULTS = frozenset(one.id for one in OTHER_SUPPRESSORS)
UNLIKE_FROM = 0.5
"""A part is unlike its class when that is more probable than not."""


class Diagnosis(NamedTuple):
    """`faults`: named, the most probable first; empty for a part that looks sound, that is of another form, or of which
    nothing is known. `unlike`: what is unlike its class though no fault is known by it."""

    faults: tuple[NamedFault, ...] = ()
    unlike: Unlike | None = None


NOTHING = Diagnosis()


def diagnose(
    plan: Plan, findings: Iterable[Finding], tripped: bool = False, reference: TypeReference | None = None
) -> Diagnosis:
    """What is wrong with the part, by its readings.

    `tripped`: the coil's current ended the run; what was read until then counts, and so does the trip.
    `reference`: what sound parts of its type read.
    """
    findings = tuple(findings)
    if plan.form is None:
        failed = any(judge_finding(plan, one).outcome is Outcome.FAIL for one in findings)
        faults_of_kind = NAMED.get(plan.rating.kind)
        return Diagnosis(faults_of_kind(plan.rating, findings, failed)) if faults_of_kind else NOTHING
    found = clues(plan, findings, tripped)
    if not found or any(map(of_another_form, findings)):
        return NOTHING
    by_class = sound_of(plan.relay.form, plan.relay.coil_share or USUAL_TOLERANCE, plan.relay.suppression)
    middles = centres(plan, reference, found) if reference else {}
    coil = found["coil"].value or 1.0 if "coil" in found else 1.0
    usual = promised(by_class, plan.relay, coil) | middles
    found = without_moot(plan, found, usual, middles.get("pull_in", by_class["pull_in"]))
    if reference:
        found = held_beside(plan, reference, found, middles)
    faults = [fault for fault in faults_of(plan.relay.form) if _can_be(fault, found)]
    if reference:
        faults += other_suppressors(plan, reference, found, middles)
    known = [by_span(beside(fault, middles), found, middles) for fault in faults]
    share = OTHER_TYPE if middles else OTHER_DESIGN
    any_design = promised(of_any_design(by_class), plan.relay, coil)
    weights, other = _weights(_logs(found, usual, known), _logs(found, any_design, faults), share)
    alone = {fault.id: 0.0 for fault in known}
    for one, weight in weights.items():
        for fault in one:
            alone[fault.id] += weight
    best = max(weights, key=lambda one: weights[one])
    ranked = sorted(known, key=lambda fault: (fault not in best, -alone[fault.id]))
    shown = [fault for fault in ranked if fault in best or alone[fault.id] >= SHOWN_FROM]
    told = [fault for fault in shown if _is_known(fault, plan, found, usual, middles)]
    hidden = [fault for fault in shown if fault not in told]
    unlike = sum(weight for one, weight in weights.items() if not set(one).isdisjoint(hidden))
    unlike += sum(weight for one, weight in other.items() if set(one).isdisjoint(hidden))
    named = set(best) & set(told)
    expected = _together(tuple(one for one in best if one in told), usual)
    outcomes = {one.id: judge_finding(plan, one).outcome for one in findings}
    return Diagnosis(
        tuple(
            _named(fault, best, weights, alone, found, usual, _advice(fault, plan, found, outcomes)) for fault in told
        )
        if named
        else (),
        _unlike(hidden if named else [one for one in shown if one.called], found, expected, bool(middles))
        if unlike >= UNLIKE_FROM or stands_alone(found, expected)
        else None,
    )


def _can_be(fault: PartFault, found: Mapping[str, Clue]) -> bool:
    """Whether its clue was read; and of another form or voltage, whether the contacts at rest, or the coil's ohms, are
    of it: the many readings that such a part does not allow, or changes, may all be so for one other reason."""
    at_rest, rest = fault.does.get("rest"), found.get("rest")
    if fault.alone and rest and isinstance(at_rest, AnySign) and rest.state not in at_rest.any_of:
        return False
    key, must = fault.only_where or ("", None)
    if must and key in found and outside(found[key], must):
        return False
    return not fault.needs or fault.needs in found


def _is_known(
    fault: PartFault, plan: Plan, found: Mapping[str, Clue], usual: Mapping[str, Expected], middles: Mapping[str, Like]
) -> bool:
    """Whether the readings tell a fault from another design: there is a reference, or one of those that follow no
    design speaks for it."""
    if fault.id in NO_FAULTS:
        return False
    if not fault.called or not plan.relay.any_maker or not set(middles).isdisjoint(SHIFTS[fault.id]):
        return True
    own = [key for key in fault.does if key in found and key not in BY_DESIGN]
    return any(outside(found[key], usual[key]) and not outside(found[key], fault.does[key]) for key in own)


def _unlike(
    hidden: list[PartFault], found: Mapping[str, Clue], expected: Mapping[str, Expected], siblings: bool
) -> Unlike:
    """What of the part is not as expected of its class, and which faults would explain that as well as a design; what
    to do, with the tests that tell such a fault by themselves.
    """
    unusual = [
        Evidence(id=clue.id, text=_said(clue, expected[key]), speaks="for")
        for key, clue in found.items()
        if outside(clue, expected[key])
    ]
    telling = (fault.further for fault in hidden if fault.told_by and fault.told_by not in found)
    causes = [*(fault.called for fault in hidden), "a part of another type" if siblings else "another design"]
    return Unlike(
        text=f"unlike {'its siblings' if siblings else 'its class'}: {', or '.join(causes)}",
        may_be=tuple(fault.id for fault in hidden if fault.id not in NO_FAULTS),
        evidence=tuple(unusual),
        next=" ".join((OF_ANOTHER_TYPE if siblings else TEST_THREE, *dict.fromkeys(telling))),
    )


def _weights(
    logs: Mapping[Set, float], odd: Mapping[Set, float], share: float
) -> tuple[dict[Set, float], dict[Set, float]]:
    """Probability of every set; and how much of it is that of other designs, which are this share of all.

    `odd`: the same sets in the same order, of a design that nobody has measured.
    """
    most = max(*logs.values(), *odd.values())
    other = {one: share * math.exp(log - most) for one, log in zip(logs, odd.values(), strict=True)}
    both = {one: math.exp(log - most) + other[one] for one, log in logs.items()}
    total = sum(both.values())
    return {one: weight / total for one, weight in both.items()}, {one: w / total for one, w in other.items()}


def _logs(found: Mapping[str, Clue], usual: Mapping[str, Expected], known: list[PartFault]) -> dict[Set, float]:
    """Log of likelihood times share of every set of at most two faults; of one winding only one thing is wrong."""
    sound = {key: math.log(agreement(clue, usual[key])) for key, clue in found.items()}

    def gain(key: str, expected: Expected) -> float:
        """How much better a clue agrees with this than with a sound part, as a logarithm."""
        return math.log(agreement(found[key], expected)) - sound[key]

    gains = {f.id: {key: gain(key, does) for key, does in f.does.items() if key in found} for f in known}
    alone = {f.id: math.log(f.share) + _mild_or_plain(f, gains[f.id]) for f in known}
    least = sum(sound.values())
    logs: dict[Set, float] = {(): least} | {(fault,): least + alone[fault.id] for fault in known}
    for first, second in combinations(known, 2):
        coils = "coil" in first.does and "coil" in second.does
        if first.alone or second.alone or coils or {first.id, second.id} <= OF_THE_ARMATURE:
            continue
        log = least + alone[first.id] + alone[second.id]
        for key in (one for one in gains[first.id] if one in gains[second.id]):  # in order: the last digit decides ties
            both = gain(key, _both(first.does[key], second.does[key]))
            log += both - gains[first.id][key] - gains[second.id][key]
        logs[first, second] = log
    return logs


def _mild_or_plain(fault: PartFault, gains: Mapping[str, float]) -> float:
    """Log of its likelihood beside a sound part's: a mild fault, as likely as one in full, moves only what it must."""
    full = sum(gains.values())
    if fault.id not in ALWAYS:
        return full
    mild = sum(gain for key, gain in gains.items() if not isinstance(fault.does[key], Perhaps))
    most = max(full, mild)
    return most + math.log((math.exp(full - most) + math.exp(mild - most)) / 2)


def _together(faults: Set, usual: Mapping[str, Expected]) -> dict[str, Expected]:
    """What several faults at once do: what makes a measurement impossible wins, two bands widen to both."""
    expected = dict(usual)
    for index, fault in enumerate(faults):
        for key, does in fault.does.items():
            expected[key] = _both(expected[key], does) if index and key in faults[0].does else does
    return expected


def _both(first: Expected, second: Expected) -> Expected:
    for kind in (Missing, Anything):
        for one in (first, second):
            if isinstance(one, kind):
                return one
    first, second = (one.moved if isinstance(one, Perhaps) else one for one in (first, second))
    if isinstance(first, Band) and isinstance(second, Band):
        return Band(min(first.low, second.low), max(first.high, second.high))
    if isinstance(first, AnySign) and isinstance(second, AnySign):
        return AnySign(first.any_of + tuple(one for one in second.any_of if one not in first.any_of))
    return Anything()


def _named(
    fault: PartFault, best: Set, weights: Mapping[Set, float], alone: Mapping[str, float], found: Mapping[str, Clue],
    usual: Mapping[str, Expected], advice: str,
) -> NamedFault:  # fmt: skip
    rivals, told = _rivals(fault, best, weights), fault.told_by in found
    return NamedFault(
        id=fault.id,
        title=fault.title,
        weight=min(alone[fault.id], 1.0),
        advice=advice,
        never_fit=advice == fault.advice and fault.fate == "never fit",
        evidence=_evidence(fault, best if fault in best else (fault,), found, usual),
        rivals=tuple(one.id for one in rivals),
        rival_titles=tuple(one.title for one in rivals),
        further=fault.further if (rivals or alone[fault.id] < 0.9 or fault.told_by) and not told else "",
    )


def _advice(fault: PartFault, plan: Plan, found: Mapping[str, Clue], outcomes: Mapping[str, Outcome]) -> str:
    """What to do; of a worn contact, or a part that meets its limits all the same, what it may still do."""
    if Outcome.FAIL in outcomes.values():
        return fault.advice
    drops = [found.get(key) for key in DROPS if key in fault.does]
    if fault.advice_worn and all(one and outcomes.get(one.id) is Outcome.PASS for one in drops):
        return fault.advice_worn
    if any(
        outcomes.get(id) in (None, Outcome.UNSURE, Outcome.NOT_TESTED) for id in plan.wanted if id not in plan.beyond
    ):
        return fault.advice
    return fault.advice_met or (fault.advice if fault.fate == "fit" else LIMITS_MET)


def _rivals(fault: PartFault, best: Set, weights: Mapping[Set, float]) -> list[PartFault]:
    """Causes that, put in this one's place, explain the evidence nearly as well."""
    if fault not in best:
        return list(best)
    rest = set(best) - {fault}
    found = []
    for one, weight in weights.items():
        others = set(one) - set(best)
        if len(others) == 1 and rest <= set(one) and fault not in one and weight >= RIVAL_FROM * weights[best]:
            found += [other for other in others if other not in found]
    return found


def _evidence(
    fault: PartFault, named: Set, found: Mapping[str, Clue], usual: Mapping[str, Expected]
) -> tuple[Evidence, ...]:
    """Readings that are unusual and that this fault explains; then those that it explains badly."""
    expected = _together(named, usual)
    told = []
    for key, clue in found.items():
        if key in fault.does and outside(clue, usual[key]) and not outside(clue, fault.does[key]):
            told.append(Evidence(id=clue.id, text=_said(clue, usual[key]), speaks="for"))
        elif outside(clue, expected[key]):
            told.append(Evidence(id=clue.id, text=_said(clue, usual[key]), speaks="against"))
    return tuple(sorted(told, key=lambda one: one.speaks == "against"))


def _said(clue: Clue, usual: Expected) -> str:
    """One reading, and what it is of its siblings' where there are some."""
    beside = f", {clue.value / usual.centre:.2f} of its siblings'" if isinstance(usual, Like) and clue.value else ""
    return f"{MEASUREMENTS[clue.id].title}: {clue.shown}{beside}"
