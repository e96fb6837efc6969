"""Does the stated uncertainty hold? Random parts on random, calibrated benches, against what is true of each part.

Rule: truth comes from the physics (truth.py, heard.py), never from the code that measures; benches and their
calibrations come from the seed, each bench calibrated with instruments that are themselves wrong within their makers'
limits.
"""

import random
import statistics
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from statistics import NormalDist

import specimens
from calibrated import calibrate_virtual
from heard import Heard, HeardEvening
from report import Share, close, parser, share
from risk import global_risk
from truth import times, truths

from pulldrop.jobs.run.boards import virtual_hand
from pulldrop.judge import decide
from pulldrop.judge.decide import RISK
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.limit import Limit, Source
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.reading import Finding, Reading
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.steps.contacts.timing import TimingStep
from pulldrop.model.verdict import Outcome
from pulldrop.plant.relay.relay import NC, NO
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

NEAR = 2.0
"""A limit is put near each true value: normal around it, with this many standard uncertainties of the reading."""
LIMITS = 4
"""So many limits for each reading."""
INVENTED = Source(text="drawn near the true value", known="assumed")
NOMINAL_EXACT = 12.0
EXACT: dict[str, tuple[float, float]] = {
    "coil_resistance": (0.0, 0.005),
    "coil_resistance_20c": (0.0, 0.005),
    "pull_in_voltage": (0.05, 0.0),
    "pull_in_voltage_20c": (0.05, 0.0),
    "drop_out_voltage": (0.05, 0.0),
    "operate_time": (50e-6, 0.0),
    "release_time": (50e-6, 0.0),
    "contact_drop_no": (0.0005, 0.02),
    "contact_drop_nc": (0.0005, 0.02),
}
"""Exactness goals of 12 V parts: an amount in SI, and a share of the true value, added."""
BOUNCES = {"bounce_time_no": NO, "bounce_time_nc": NC}
SHARES: dict[str, tuple[int, ...]] = {
    "full": specimens.SHARES, "evening": (4, 2, 2, 0), "evening-uncalibrated": (4, 2, 2, 0),
}  # fmt: skip
"""How often each base is drawn on benches of a build."""
RESTED_S = 24 * 3600.0
"""These parts are as warm as their bench, and somebody says so; `carried` draws others."""
ELSEWHERE = ("winding_drift", "leakage_open_contact", "leakage_coil_contact")
"""`carried` draws windings that are not as warm as the bench. These parts leak nothing: a leakage in ohms, and not as a
bound, is what noise makes of that in one part in twenty or fewer."""
FIRST_DROP = {NO: "first_drop_no", NC: "first_drop_nc"}
MAKE_EXACT_S = 20e-6
"""A bounce is exact make by make: from one make to the next the part itself differs, by a whole bounce or more."""


@dataclass(frozen=True)
class Line:
    """One reading beside the truth; `judged` is what `decide` said, and whether the part was truly good; `makes`: of a
    bounce, the error of every single make."""

    id: str
    nominal_v: float
    truth: float
    value: float
    expanded: float
    largest_term: str
    judged: tuple[tuple[Outcome, bool], ...]
    makes: tuple[float, ...] = ()

    @property
    def error(self) -> float:
        return self.value - self.truth

    @property
    def inside(self) -> bool:
        return abs(self.error) <= self.expanded


@dataclass(frozen=True)
class Part:
    """All lines of one part, and the ids that gave no value with the reason."""

    lines: tuple[Line, ...]
    missing: tuple[tuple[str, str], ...]


def one_part(index: int, seed: int, depth: str = "full", build: str = "full", times_only: bool = False) -> Part:
    """Draw, measure and compare one part. An evening bench has no 24 V, and a drawn person turns its knob."""
    chance = random.Random(f"{seed}:{index}")
    base = chance.choices(specimens.BASES, SHARES[build])[0]
    specimen = specimens.specimen(base, chance)
    at = plan(f"relay-{depth}", specimens.RATINGS[base])
    bench = chance.getrandbits(40)
    if build != "full":
        board: Heard | HeardEvening = HeardEvening(specimen, bench)
        hand = virtual_hand(board.exchange_leads, board.plant)
        calibration = calibrate_virtual(bench, evening=True) if build == "evening" else nominal(bench, "evening")
    else:
        board, calibration, hand = Heard(specimen, bench), calibrate_virtual(bench), None
    test_v = next(s.coil for s in at.steps if isinstance(s, TimingStep))
    load_a = next(s.load for s in at.steps if isinstance(s, ContactStep))
    if times_only:
        at = at.model_copy(update={"steps": tuple(s for s in at.steps if isinstance(s, CoilStep | TimingStep))})
    with board:
        made = perform(at.fitted(board.identity.able, True), board, calibration, hand=hand, rested_s=RESTED_S)
        found = [f for f in made if not isinstance(f, StepStarted)]
    true = truths(specimen, at.rating.nominal, test_v, load_a) | _first(specimen, board, at.rating.nominal, load_a)
    if build != "full":  # a bounce is read at the supply's volts
        true |= {id: value for id, value in times(specimen, board.first_v).items() if id in BOUNCES}
    return _compared(found, true, at.rating.nominal, chance, board.bounces)


def _first(specimen: Specimen, board: Heard | HeardEvening, nominal_v: float, load_a: float) -> dict[str, float]:
    """What the first make really did: its time as at nominal volts, its drops as at the load."""
    found = {FIRST_DROP[throw]: load_a * ohm for throw, ohm in board.first_ohm.items()}
    if board.first_s is None:
        return found
    at = [times(specimen, volts, moves=1)["operate_time"] for volts in (nominal_v, board.first_v)]
    return found | {"first_operate_time": board.first_s * at[0] / at[1]}


def _compared(
    found: Iterable[Finding],
    true: dict[str, float],
    nominal_v: float,
    chance: random.Random,
    bounces: Sequence[dict[int, float]],
) -> Part:
    lines, missing = [], []
    for one in found:
        if one.id in ELSEWHERE:
            continue
        if isinstance(one, Reading) and one.value is not None and one.bound == "=":
            judged = tuple(_judged(one, true[one.id], chance) for _ in range(LIMITS))
            u, largest, makes = one.expanded_uncertainty, one.budget[0].name, _each(one, bounces)
            lines.append(Line(one.id, nominal_v, true[one.id], one.value, u, largest, judged, makes))
        elif not isinstance(one, Reading):
            missing.append((one.id, one.reason))
        elif one.state is None:
            missing.append((one.id, f"only a bound: {one.bound} {one.value:.3g} {one.unit}"))
    return Part(tuple(lines), tuple(missing))


def _each(reading: Reading, bounces: Sequence[dict[int, float]]) -> tuple[float, ...]:
    """Of a bounce, what is read of each make less what the part did in that very make."""
    throw = BOUNCES.get(reading.id)
    if throw is None:
        return ()
    did = [one[throw] for one in bounces if throw in one]
    return tuple(read - true for read, true in zip(reading.makes, did, strict=True))


def _judged(reading: Reading, true: float, chance: random.Random) -> tuple[Outcome, bool]:
    """One limit near the truth, above or below it, and what the judge makes of the reading."""
    edge = true + chance.gauss(0, NEAR * reading.expanded_uncertainty / 2)
    upper = chance.random() < 0.5
    low, high = (None, edge) if upper else (edge, None)
    limit = Limit(text="near", source=INVENTED, unit=reading.unit, low=low, high=high)
    return decide(reading, limit).outcome, (true <= edge) == upper


def campaign(
    seed: int, parts: int, workers: int = 2, depth: str = "full", build: str = "full", times_only: bool = False
) -> list[Part]:
    """All parts, in order of their numbers, whatever the number of processes."""
    work = partial(one_part, seed=seed, depth=depth, build=build, times_only=times_only)
    if workers == 1:
        return [work(index) for index in range(parts)]
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(work, range(parts), chunksize=5))


def held(lines: Sequence[Line]) -> list[Share]:
    """The goals of one measurement. Limits near one reading share its error: their interval is rather too narrow."""
    id = lines[0].id
    judged = [j for line in lines for j in line.judged]
    goals = [
        share(f"{id}: inside U", (line.inside for line in lines), 0.93, 0.97),
        share(f"{id}: false passes among bad", (o is Outcome.PASS for o, good in judged if not good), high=0.01),
        share(f"{id}: false fails among good", (o is Outcome.FAIL for o, good in judged if good), high=0.05),
    ]
    exact = [line for line in lines if line.nominal_v == NOMINAL_EXACT]
    if id in EXACT and exact:
        goals.append(share(f"{id}: parts within the exactness goal", (e <= 1 for e in _of_goal(exact)), low=0.95))
    if id in BOUNCES and exact:
        goals.append(share(f"{id}: makes within the exactness goal", (e <= 1 for e in _of_goal(exact)), low=0.95))
    return goals


def _of_goal(lines: Sequence[Line]) -> list[float]:
    if lines[0].id in BOUNCES:
        return [abs(error) / MAKE_EXACT_S for line in lines for error in line.makes]
    amount, part = EXACT[lines[0].id]
    return [abs(line.error) / (amount + part * abs(line.truth)) for line in lines]


def at(values: Sequence[float], part: float) -> float:
    """The value below which `part` of the values lie."""
    return sorted(values)[min(int(part * len(values)), len(values) - 1)]


def told(lines: Sequence[Line]) -> str:
    """One row of the table."""
    id, errors = lines[0].id, [line.error for line in lines]
    typical = statistics.median(line.expanded for line in lines)
    judged = [j for line in lines for j in line.judged]
    inside, passes, fails = held(lines)[:3]
    unsure = share("unsure", (o is Outcome.UNSURE for o, _ in judged))
    exact = [line for line in lines if line.nominal_v == NOMINAL_EXACT]
    goal = (
        f"{at(_of_goal(exact), 0.95):6.2f} {max(_of_goal(exact)):6.2f}"
        if id in {*EXACT, *BOUNCES} and exact
        else " " * 13
    )
    unit = MEASUREMENTS[id].unit
    largest = Counter(line.largest_term for line in lines).most_common(1)[0][0]
    off = statistics.mean(line.error / line.expanded for line in lines)
    return (
        f"{id:20} {len(lines):5} {100 * inside.value:7.1f}"
        f" {statistics.mean(errors):+10.2e} {off:+6.2f} {typical:9.2e} {unit:3}"
        f" {100 * passes.value:6.2f}"
        f" {100 * fails.value:6.2f}"
        f" {100 * unsure.value:6.1f}  {goal}  {largest}"
    )


HEAD = """\
inside: share of parts whose true value lies inside the stated interval, goal 93 to 97 %.
bias: mean of reading less truth, in SI, and the mean of it over U; U in the table is the median over the parts.
near limits: {limits} limits for each reading, drawn around the true value with {near:g} standard uncertainties;
  false pass: of bad parts, goal at most 1 %; false fail: of good parts, goal at most 5 %;
  expected from the guard band of {risk:g} % alone: {pass_:.2f} % and {fail:.2f} %.
error/goal: 95 % of the 12 V parts lie within this many exactness goals; and the largest. Of bounces, 95 % of all
  single makes, each against what the part did in that very make.

measurement           parts inside%       bias bias/U         U      fpass% ffail% unsure%  95%/goal  most  largest term
"""  # fmt: skip


def main() -> int:
    asked = parser("Coverage of the stated uncertainty by random virtual parts on calibrated virtual benches.", 1000)
    asked.add_argument("--build", choices=SHARES, default="full", help="of the benches; default full")
    asked.add_argument("--times", action="store_true", help="coil and times alone, in a fifth of the time")
    given = asked.parse_args()
    parts = campaign(given.seed, given.parts, build=given.build, times_only=given.times)
    lines: dict[str, list[Line]] = {}
    for part in parts:
        for line in part.lines:
            lines.setdefault(line.id, []).append(line)
    missed = Counter(one for part in parts for one in part.missing)
    good = global_risk(0.0, NEAR, 1.0, high=0.0, accept_high=NormalDist().inv_cdf(RISK))
    bad = global_risk(0.0, NEAR, 1.0, low=0.0, accept_low=NormalDist().inv_cdf(RISK))
    kind = "calibrated" if given.build == "full" else given.build
    print(f"Coverage: {given.parts} invented parts on as many {kind} virtual benches, seed {given.seed}.")
    print(
        HEAD.format(limits=LIMITS, near=NEAR, risk=100 * RISK, pass_=200 * good.consumer, fail=200 * bad.producer),
        end="",
    )
    ordered = [lines[id] for id in MEASUREMENTS if id in lines]
    for listed in ordered:
        print(told(listed))
    for (id, reason), count in missed.most_common():
        print(f"no value: {id} of {count} parts: {reason}")
    print()
    goals = [goal for listed in ordered for goal in held(listed)]
    return close("coverage", given, goals)


if __name__ == "__main__":
    sys.exit(main())
