"""Sound parts of one type as a reference: what they read together, and what a part beside them should read.

A reading is, on a logarithmic scale, its design's mean, what the part differs by, and its uncertainty. Designs differ
by five times and more of what their parts do, so that a few siblings outweigh all that is known of other designs: the
mean is theirs alone. They are a reference only as far as they agree: one rating may stand on parts of several designs.
"""

import math
import statistics
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from pulldrop.judge.diagnosis.bands import OTHER, AnySign, Band, Expected, Like, Perhaps
from pulldrop.judge.diagnosis.evidence.clue import Clue, log_of
from pulldrop.judge.diagnosis.evidence.clues import clues
from pulldrop.judge.diagnosis.evidence.makes import LEAST_SCATTER, MOVES, scatter_of
from pulldrop.judge.diagnosis.fault import PartFault
from pulldrop.judge.diagnosis.shifts import ALWAYS, SHIFTS
from pulldrop.model.measurement import MEASUREMENTS, Clamped
from pulldrop.model.part.reference import LEAST_PARTS, Figure, Sibling, TypeReference
from pulldrop.model.reading import Finding, Reading, state_code
from pulldrop.model.run.plan import Plan

PART_SPREAD = {
    "half_volt": 0.03, "coil": 0.02, "pull_in": 0.04, "gap": 0.05, "start": 0.06, "operate": 0.035,
    "release": 0.04, "moves": 0.3, "bounce_no": 0.15, "bounce_nc": 0.15,
}  # fmt: skip
"""Standard deviation of the logarithm between parts of one design (a trial on drawn parts; two makers' 42 and 53 parts
differ as much in pull-in, drop-out and times)."""
KNOWN_AS_BY = 4
"""Degrees of freedom that this spread is worth beside that of a few siblings (assumed)."""
USUAL_FREEDOM, FREEDOM = 20, {"start": 6, "bounce_no": 12, "bounce_nc": 12}
"""Degrees of freedom of Student's distribution, by which parts of one design differ: 320 readings of a design's sound
parts lay within 3 standard deviations, but for bounces (designs of tuning seeds, both plants). The start is read from
a dip that some faults blur."""
APART = 4.0
"""Standard deviations of one type's parts from the siblings' middle; beyond it one is of another type, or bad (assumed;
looked at on tuning seeds)."""
BOUNCES, BOUNCES_APART = ("bounce_no", "bounce_nc"), 2
"""By what more for bounces: one more rebound, or one less, doubles them or halves them."""
OF_DESIGN = (
    "coil_resistance_low", "coil_resistance_20c", "pull_in_voltage", "pull_in_current", "drop_out_voltage",
    "armature_start_time", "operate_time", "release_time", "bounce_time_no", "bounce_time_nc",
)  # fmt: skip
"""Measurements that the clues of a design are made of."""
CLAMP, CLAMP_CLUE = "flyback_class", "clamp"
READ_OF_SIBLINGS = (*OF_DESIGN, CLAMP)
"""What is asked of the runs of siblings."""
SUSPECTED = 0.03
"""Share of parts that have such a fault, of those that a person holds beside siblings (assumed)."""
BY_SUPPRESSION = ("release", "bounce_nc")
"""Clues that follow what is across the coil."""
OTHER_SUPPRESSORS = (
    PartFault(
        "resistor_of_its_own",
        "",
        "",
        {},
        share=0.03,
        called="a resistor across its coil that its siblings lack, or shorted turns",
    ),
    PartFault(
        "resistor_of_siblings",
        "",
        "",
        {},
        share=0.03,
        called="a resistor across its siblings' coils that it lacks, or corroded wire",
    ),
)
"""No faults: how two parts of one type differ that were sold for other circuits (share assumed)."""
ACROSS_12V_OHM = (500.0, 1000.0)
"""What makers put across a coil of 12 V, four times as much across one of 24 V (makers advise 680 to 1000,
and 2800 to 4700; some are lower, from memory)."""
COIL, COIL_APART = ("half_volt", "coil"), 0.01
SAID_BY = {"drop_out": "gap", "half_volt": "coil"}
"""What another clue beside siblings says: of drop-out gap, with pull-in; of ohms at half a volt those at full volts."""
SPAN = {"weak_spring": 1, "residual_magnetism": -1}
LOST, LOST_S = 0.35, 0.03
"""What is left in the iron takes as many ampere-turns from pull-in and drop-out, or parts them; a weak spring takes a
share of each. Of what pull-in lost, their difference lost 0.45 to 1.1 by a weak spring and 0.25 at most by magnetised
iron (80 parts of both plants, tuning seeds): where the cut is, and how sharp, as a share of the difference."""
GAP_U = 0.01
"""Of drop-out over pull-in, which blurs a small difference (standard, typical)."""
STILL = 0.03
"""Share of parts that do not keep to that (assumed; one in 70 weak springs of tuning seeds)."""
TOGETHER = 1.67
"""By what the spread of a sum of squares grows because pull-in, start and operate of a part move together (their
correlation is 0.6 to 0.9 in both plants), and coil and half-volt ohms do."""
ONE_ALONE = 10.8
"""Square of a normal quantity that one in a thousand exceeds: of nine readings one in a hundred parts."""
ONE_IN_100 = 2.326
"""Of a normal quantity, in standard deviations."""


def learned(plan: Plan, siblings: Sequence[Sibling]) -> TypeReference | None:
    """What sound parts read that were tested by this plan; None for too few of one suppression, and where they differ
    too much among themselves to be of one type."""
    clamps = [_clamp(one.found) for one in siblings]
    most = Counter(clamps).most_common(1)
    alike = [one for one, clamp in zip(siblings, clamps, strict=True) if clamp == most[0][0]]
    if len(alike) < LEAST_PARTS or not _agree(plan, alike):
        return None
    figures = {}
    for id in OF_DESIGN:
        read = [
            one
            for sibling in alike
            for one in sibling.found
            if isinstance(one, Reading) and one.id == id and one.bound == "=" and one.value and one.value > 0
        ]
        logs = [math.log(one.value) for one in read if one.value]
        scatter = scatter_of(read) if id in MOVES else None
        if len(logs) >= LEAST_PARTS:
            figures[id] = Figure(
                parts=len(logs),
                middle=math.exp(statistics.fmean(logs)),
                spread=statistics.stdev(logs),
                scatter=scatter[0] if scatter else None,
            )
    return TypeReference(
        siblings=plan.rating.rating,
        protocol=plan.protocol,
        version=plan.version,
        nominal_v=plan.relay.nominal,
        form=plan.relay.form,
        clamp=most[0][0],
        parts=len(alike),
        simulated=any(one.simulated for one in alike),
        bench=", ".join(sorted({one.bench for one in alike})),
        made=max(one.tested for one in alike),
        figures=figures,
    )


def _clamp(found: Iterable[Finding]) -> str:
    seen = next((one for one in found if isinstance(one, Reading) and one.id == CLAMP), None)
    return state_code(seen.state) if seen and seen.state else ""


def _agree(plan: Plan, siblings: Sequence[Sibling]) -> bool:
    """Whether every reading of each lies about the middle of all, as those of one type do."""
    read: dict[str, list[tuple[float, float]]] = {key: [] for key in PART_SPREAD}
    for one in siblings:
        for key, clue in clues(plan, one.found).items():
            if key in PART_SPREAD and clue.bound == "=" and clue.value:
                read[key].append(log_of(clue))
    return all(
        abs(value - statistics.median(one for one, _ in each))
        <= APART * (BOUNCES_APART if key in BOUNCES else 1) * math.hypot(PART_SPREAD[key], u)
        for key, each in read.items()
        for value, u in each
    )


def centres(plan: Plan, reference: TypeReference, found: Mapping[str, Clue]) -> dict[str, Like]:
    """What each clue of a part of this type should be about; nothing where protocol, volts or form are others'."""
    tested = (reference.protocol, reference.version, reference.nominal_v, reference.form)
    if tested != (plan.protocol, plan.version, plan.relay.nominal, plan.relay.form):
        return {}
    means = [Reading(id=id, unit=MEASUREMENTS[id].unit, value=one.middle) for id, one in reference.figures.items()]
    same_clamp = _same_clamp(found, reference)
    beside = {}
    for key, clue in clues(plan, means).items():  # drop-out is in the gap, which says more beside pull-in
        if key in PART_SPREAD and clue.value and (same_clamp or key not in BY_SUPPRESSION):
            beside[key] = Like(clue.value, _spread(key, reference.figures[clue.id]), FREEDOM.get(key, USUAL_FREEDOM))
    scatters = [one.scatter for one in (reference.figures.get(id) for id in MOVES) if one and one.scatter is not None]
    if scatters:
        middle = math.sqrt(statistics.fmean(one * one for one in scatters))
        beside["moves"] = Like(max(middle, LEAST_SCATTER), PART_SPREAD["moves"], USUAL_FREEDOM)
    return beside


def _same_clamp(found: Mapping[str, Clue], reference: TypeReference) -> bool:
    return CLAMP_CLUE not in found or found[CLAMP_CLUE].state == reference.clamp


def _spread(key: str, figure: Figure) -> float:
    """Of one more part about the mean of the others: what these differ by counts beside what parts of a type do."""
    freedom = figure.parts - 1
    pooled = (KNOWN_AS_BY * PART_SPREAD[key] ** 2 + freedom * figure.spread**2) / (KNOWN_AS_BY + freedom)
    return math.sqrt(max(pooled, PART_SPREAD[key] ** 2) * (1 + 1 / figure.parts))


def other_suppressors(
    plan: Plan, reference: TypeReference, found: Mapping[str, Clue], centres: Mapping[str, Like]
) -> list[PartFault]:
    """A resistor across the coil of the part, or across those of its siblings: the spike shows neither, the ohms do."""
    if plan.relay.suppression is not None or "coil" not in centres:
        return []
    coil_ohm = reference.figures["coil_resistance_20c"].middle
    least, most = (ohm * (plan.relay.nominal / 12) ** 2 / coil_ohm for ohm in ACROSS_12V_OHM)
    coils = {
        "resistor_of_its_own": (least / (least + 1), most / (most + 1)),
        "resistor_of_siblings": (most / (most - 1), least / (least - 1)),
    }
    own = found[CLAMP_CLUE].state if CLAMP_CLUE in found else Clamped.BENCH
    clamps = {"resistor_of_its_own": own, "resistor_of_siblings": reference.clamp or Clamped.BENCH}
    read = {key: centres[key] for key in COIL if key in centres}
    return [
        replace(one, does={key: _moved(*coils[one.id], COIL_APART, usual) for key, usual in read.items()})
        for one in OTHER_SUPPRESSORS
        if clamps[one.id] == Clamped.BENCH
    ]


def _moved(low: float, high: float, soft: float, usual: Like, missing: float = OTHER) -> Band:
    """Between these multiples of what siblings read; its edges are as soft as the fault and the siblings leave them."""
    return Band(low * usual.centre, high * usual.centre, math.hypot(soft, usual.spread), missing)


def beside(fault: PartFault, centres: Mapping[str, Like]) -> PartFault:
    """The fault in a part of this type: what it changes is counted from the siblings. Of suppression the spike alone
    tells, for a release that differs from theirs has other causes."""
    does: dict[str, Expected] = dict(fault.does)
    if isinstance(does.get(CLAMP_CLUE), AnySign):
        does = {key: one for key, one in does.items() if key not in centres}
    for key, factor in SHIFTS.get(fault.id, {}).items():
        if key in centres:
            usual, old = centres[key], fault.does.get(key)
            missing = old.or_missing if isinstance(old, Band) else factor.or_missing
            moved = _moved(factor.low, factor.high, factor.soft, usual, missing)
            does[key] = moved if key in ALWAYS.get(fault.id, ()) else Perhaps(moved, usual)
    share = max(fault.share, SUSPECTED) if centres and fault.called else fault.share
    return replace(fault, does=does, share=share)


def held_beside(
    plan: Plan, reference: TypeReference, found: Mapping[str, Clue], centres: Mapping[str, Like]
) -> dict[str, Clue]:
    """The clues as siblings tell something of them, each thing said once: pull-in as a current, which more ohms of the
    coil leave as it was; nothing that too few siblings gave."""
    if not centres:
        return dict(found)
    silent = {said for said, by in SAID_BY.items() if by in centres and by in found}
    if _same_clamp(found, reference):
        silent |= set(PART_SPREAD) - set(centres)
    held = {key: clue for key, clue in found.items() if key not in silent}
    if plan.relay.any_maker and all(key in centres and _has_number(held, key) for key in ("pull_in", "coil")):
        more = (held["coil"].value or 1.0) / centres["coil"].centre
        pull_in = held["pull_in"]
        held["pull_in"] = replace(pull_in, value=(pull_in.value or 0.0) / more, u=pull_in.u / more)
    return held


def by_span(fault: PartFault, found: Mapping[str, Clue], centres: Mapping[str, Like]) -> PartFault:
    """The fault as likely as pull-in less drop-out, beside the siblings', leaves it; a bound is halved."""
    pull_in, gap = (found.get(key) for key in ("pull_in", "gap"))
    known = "pull_in" in centres and "gap" in centres
    if fault.id not in SPAN or not known or not pull_in or not gap or not pull_in.value or pull_in.bound != "=":
        return fault
    own, usual = pull_in.value / centres["pull_in"].centre, centres["gap"].centre
    let_go = (gap.value or 0.0) * (1.0 if gap.bound == "=" else 0.5)
    lost = 1 - own * (1 - let_go) / (1 - usual)
    beyond = (lost - LOST * (1 - own)) / math.hypot(LOST_S, GAP_U * own / (1 - usual))
    return replace(fault, share=fault.share * max(0.5 * math.erfc(-SPAN[fault.id] * beyond / math.sqrt(2)), STILL))


def alone(found: Mapping[str, Clue], expected: Mapping[str, Expected]) -> bool:
    """Whether one of its readings, or all together, lie further from its siblings' than those of 99 in 100 parts."""
    squares = [
        _square(found[key], one) for key, one in expected.items() if isinstance(one, Like) and _has_number(found, key)
    ]
    if not squares:
        return False
    freedom = len(squares) / TOGETHER
    part = 2 / (9 * freedom)
    most = TOGETHER * freedom * (1 - part + ONE_IN_100 * math.sqrt(part)) ** 3  # chi-square, Wilson and Hilferty
    return sum(squares) > most or max(squares) > ONE_ALONE


def _has_number(found: Mapping[str, Clue], key: str) -> bool:
    return key in found and not found[key].missing and found[key].bound == "="


def _square(clue: Clue, expected: Like) -> float:
    """Of how far it is off, as a normal quantity would be (Wallace's approximation to Student's)."""
    value, u = log_of(clue)
    off = (value - math.log(expected.centre)) / math.hypot(expected.spread, u)
    n = expected.freedom
    few = (8 * n + 1) / (8 * n + 3)
    return few * few * n * math.log(1 + off * off / n)
