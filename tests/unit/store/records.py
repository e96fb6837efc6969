"""Finished run records for the tests of store and report. Every part, figure and waveform here is invented."""

import hashlib
import math
from datetime import UTC, datetime, timedelta

from pulldrop.model.bench.calibration import Calibration, nominal
from pulldrop.model.bench.identity import Identity
from pulldrop.model.bench.kit import CalibrationRecord, Meter, Observed
from pulldrop.model.limit import Limit, Source
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import FORMS, Relay
from pulldrop.model.raw import Capture, CoilCounts, Contact, Edge, Landing, PulseCounts
from pulldrop.model.reading import Condition, NotTested, Raw, Reading, Term
from pulldrop.model.run.fault import Evidence, NamedFault, Unlike
from pulldrop.model.run.judgement import Decision, Judgement
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.scale import Grade
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.coil.thresholds import ThresholdsStep
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.steps.contacts.timing import TimingStep
from pulldrop.model.verdict import Judged, Outcome, Overall, Verdict

STARTED = datetime(2026, 5, 4, 9, 30, 15, 250_000, tzinfo=UTC)
INVENTED = Source(text="invented sheet of the bus depot", known="assumed")
PRACTICE = Source(text="an invented house rule", known="common practice")
TEXT = "# an invented protocol\nprotocol: depot-changeover-12v\nversion: 3\n"
SAMPLE_TICKS = 200
TICKS_PER_MS = 2000


def rating() -> Rating:
    return Rating(
        rating="depot-changeover-12v",
        title="invented 12 V changeover relay",
        source=INVENTED,
        kind="relay",
        form="C",
        nominal="12 V",
        coil_resistance="90 ohm",
        coil_tolerance="10 %",
        pull_in_most="8.4 V",
        drop_out_least="1.2 V",
        operate_most="10 ms",
        drop_no={"most": "200 mV", "at": "10 A"},
        figures={"drop_no": PRACTICE},
    )


def plan() -> Plan:
    return Plan(
        protocol="depot-changeover-12v",
        version=3,
        title="Changeover relay, 12 V, full",
        form="C",
        rating=rating(),
        steps=(
            CoilStep(measure="coil"),
            ThresholdsStep(measure="thresholds"),
            TimingStep(measure="timing", coil="13.5 V", makes=3),
            ContactStep(measure="contact", coil="13.5 V", load="10 A"),
        ),
        wanted=tuple(one for one in MEASUREMENTS if one != "coil_current"),
        limits={"pull_in_voltage": PULL_IN_LIMIT, "contact_drop_no": DROP_LIMIT, "coil_resistance_20c": COIL_LIMIT},
        text=TEXT,
        sha256=hashlib.sha256(TEXT.encode()).hexdigest(),
    )


PULL_IN_LIMIT = Limit(text="<= 8.40 V (70 % of nominal 12 V)", source=INVENTED, unit="V", high=8.4)
DROP_OUT_LIMIT = Limit(text=">= 1.20 V (10 % of nominal 12 V)", source=INVENTED, unit="V", low=1.2)
COIL_LIMIT = Limit(text="81.0 to 99.0 ohm (90 ohm +-10 %)", source=INVENTED, unit="ohm", low=81.0, high=99.0)
OPERATE_LIMIT = Limit(text="<= 10.0 ms", source=INVENTED, unit="s", high=0.010)
DROP_LIMIT = Limit(text="<= 200 mV at 10 A", source=PRACTICE, unit="V", high=0.2)
REST_LIMIT = Limit(text="30-87 open, 30-87a closed", source=PRACTICE, unit="", state=FORMS["C"].at("rest"))


def board(kind: str = "virtual") -> Identity:
    return Identity(
        kind=kind,
        serial=17,
        firmware="0.1.0",
        schema_hash=0xC0FFEE,
        reset_cause="power on",
        port="/dev/ttyUSB0" if kind == "real" else "",
    )


def calibration(taken: bool = False) -> Calibration:
    plain = nominal(17)
    if not taken:
        return plain
    return plain.model_copy(update={"name": "spring check", "taken_at": datetime(2026, 3, 1, 8, 0, tzinfo=UTC)})


def operate_capture(shift_ms: float = 0.0) -> Capture:
    """Coil current after switching on: it rises, dips as the armature closes, and rises again."""

    def counts(ms: float) -> int:
        dip = 150 * math.exp(-(((ms - 5.3 - shift_ms) / 0.7) ** 2))
        return round(480 * (1 - math.exp(-ms / 3.2)) - dip)

    opens, closes = 4.1 + shift_ms, 4.9 + shift_ms
    edges = (
        (opens, Contact.NC, False),
        (closes, Contact.NO, True),
        (closes + 0.25, Contact.NO, False),
        (closes + 0.4, Contact.NO, True),
    )
    return _capture(counts, edges, Contact.NC)


def release_capture(shift_ms: float = 0.0) -> Capture:
    """Coil current after switching off into the 68 V clamp, and the throws going back."""
    opens, closes = 1.6 + shift_ms, 2.6 + shift_ms
    edges = ((opens, Contact.NO, False), (closes, Contact.NC, True), (closes + 0.5, Contact.NC, False),
             (closes + 0.9, Contact.NC, True))  # fmt: skip
    return _capture(lambda ms: max(0, round(480 - 1600 * ms)), edges, Contact.NO)


def _capture(counts: object, edges: tuple[tuple[float, Contact, bool], ...], before: Contact) -> Capture:
    assert callable(counts)
    return Capture(
        edges=tuple(Edge(tick=round(ms * TICKS_PER_MS), contact=c, closed=closed) for ms, c, closed in edges),
        contacts_before=before,
        samples=tuple(counts(i * SAMPLE_TICKS / TICKS_PER_MS) for i in range(300)),
        sample_ticks=SAMPLE_TICKS,
        window_ticks=60_000,
    )


def reading(
    id: str,
    value: float | None,
    u: float = 0.0,
    *,
    makes: tuple[float, ...] = (),
    raw: tuple[Raw, ...] = (),
    **more: object,
) -> Reading:
    budget = (
        Term(name="scale", u=u * 0.8, why="maker's limit of the converter"),
        Term(name="scatter", u=u * 0.6, why="makes", freedom=2.0),
    )
    conditions = (
        Condition(name="coil voltage", text="13.50 V", value=13.5, unit="V"),
        Condition(name="bench temperature", text="21.4 degC", value=21.4, unit="degC"),
        Condition(name="clamp", text="68 V TVS of the bench"),
    )
    unit = MEASUREMENTS[id].unit
    return Reading.model_validate(
        dict(id=id, unit=unit, value=value, budget=budget, conditions=conditions, makes=makes, raw=raw) | more
    )


def judge(
    finding: Reading | NotTested, outcome: Outcome, reason: str, limit: Limit | None = None, grade: Grade | None = None
) -> Judged:
    return Judged(id=finding.id, outcome=outcome, reason=reason, finding=finding, limit=limit, grade=grade)


def contacts(id: str, state: ContactState) -> Judged:
    at_rest = reading(id, None, state=state, raw=(Landing(stopped=True, index=4, dac=500, contacts=Contact.NC),))
    return judge(at_rest.model_copy(update={"budget": ()}), Outcome.PASS, "as a changeover relay should", REST_LIMIT)


def good() -> tuple[Judged, ...]:
    """All measurements of a relay that keeps every limit."""
    shifts = (-0.1, 0.0, 0.2)
    on = tuple(operate_capture(shift) for shift in shifts)
    off = tuple(release_capture(shift / 2) for shift in shifts)
    pulses = (
        PulseCounts(drop=(3120, 3133), shunt=(6400, 6399), gain=5),
        PulseCounts(drop=(3000,), shunt=(-6,), gain=4),
    )
    coil = (CoilCounts(bus=9600, shunt=5333),)
    passes, noted = Outcome.PASS, Outcome.NOTED
    return (
        contacts("contact_rest", FORMS["C"].at("rest")),
        judge(reading("coil_resistance", 90.4, 0.4, raw=coil), noted, "no limit at this temperature"),
        judge(reading("coil_resistance_20c", 89.9, 0.5, raw=coil), passes, "inside the limits", COIL_LIMIT),
        judge(reading("pull_in_voltage", 6.94, 0.03), passes, "well under the limit", PULL_IN_LIMIT),
        judge(reading("drop_out_voltage", 2.81, 0.03), passes, "over the limit", DROP_OUT_LIMIT),
        judge(
            reading("operate_time", 0.0049, 2e-5, makes=(0.0048, 0.0049, 0.0051), raw=on),
            passes, "under the limit", OPERATE_LIMIT,
        ),
        judge(
            reading("release_time", 0.0026, 2e-5, makes=(0.00255, 0.0026, 0.0027), raw=off), noted, "no limit set",
        ),
        judge(reading("bounce_time_no", 4e-4, 1e-6, raw=on), noted, "no limit set"),
        judge(reading("transfer_time", 8e-4, 1e-6, raw=on), noted, "no limit set"),
        judge(
            reading("contact_drop_no", 0.0244, 4e-4, makes=(0.0244,) * 10, raw=pulses),
            passes, "under", DROP_LIMIT, Grade.GOOD,
        ),
    )  # fmt: skip


def record(
    overall: Overall = Overall.PASS,
    judged: tuple[Judged, ...] | None = None,
    *,
    kind: str = "virtual",
    label: str = "indicator relay, bus 12",
    calibrated: bool = False,
    part: str = "P0001",
    faults: tuple[NamedFault, ...] = (),
) -> RunRecord:
    """One finished record; `kind` real, emulated or virtual."""
    interrupted = overall is Overall.INTERRUPTED
    return RunRecord(
        run=f"20260504T093015-{part.lower()}",
        part=Relay(
            id=part, form="C", label=label, donor="bus 12, retired", notes="crate 4",
            births=(f"20260504T093000-of-{part}",),
        ),
        started=STARTED,
        ended=None if interrupted else STARTED + timedelta(seconds=14),
        plan=plan(),
        board=board(kind),
        calibration=calibration(calibrated),
        software="0.1.0",
        judged=good() if judged is None else judged,
        verdict=verdict(overall),
        bench_s=0.0 if interrupted else 12.25,
        operator="second shift",
        specimen="" if kind == "real" else "# an invented specimen\nname: good\n",
        seed=None if kind == "real" else 4,
        faults=faults,
    )  # fmt: skip


UNLIKE = Unlike(
    text="unlike its class: a weak spring, or another design",
    may_be=("weak_spring",),
    evidence=(Evidence(id="drop_out_voltage", text="drop-out voltage: 0.9 V", speaks="for"),),
)


def verdict(overall: Overall) -> Verdict:
    return Verdict(
        overall=overall,
        found=f"An invented finding that ends in {overall}.",
        means="An invented meaning.",
        next="Write the number on the part.",
        unlike=UNLIKE if overall is Overall.UNSURE else None,
    )


def failed(**more: object) -> RunRecord:
    """A burnt contact: everything well but the drop of NO."""
    burnt = reading("contact_drop_no", 0.734, 0.004, makes=(0.6, 0.734, 0.91))
    one = judge(burnt, Outcome.FAIL, "above the limit beyond doubt", DROP_LIMIT, Grade.BAD)
    return record(Overall.FAIL, (*good()[:-1], one), **more)  # type: ignore[arg-type]  # keywords passed on


def unsure(**more: object) -> RunRecord:
    """A pull-in that lies within its uncertainty of the limit."""
    near = judge(
        reading("pull_in_voltage", 8.38, 0.03), Outcome.UNSURE, "the limit lies inside the uncertainty", PULL_IN_LIMIT
    )
    return record(Overall.UNSURE, (*good()[:3], near, *good()[4:]), **more)  # type: ignore[arg-type]  # passed on


def open_coil(**more: object) -> RunRecord:
    """An open coil: a bound for the resistance, and nothing else could be tested."""
    bound = reading("coil_resistance", 1e4, 0.0, bound=">").model_copy(update={"budget": ()})
    why = "the coil takes no current, so the relay cannot be operated"
    rest = [
        judge(NotTested(id=id, reason=why), Outcome.NOT_TESTED, why, PULL_IN_LIMIT if id == "pull_in_voltage" else None)
        for id in ("coil_resistance_20c", "pull_in_voltage", "operate_time", "release_time", "contact_drop_no")
    ]
    coil = judge(bound, Outcome.FAIL, "open", COIL_LIMIT)
    return record(Overall.FAIL, (good()[0], coil, *rest), **more)  # type: ignore[arg-type]  # passed on


def interrupted(**more: object) -> RunRecord:
    """A run that was cut off after four measurements."""
    return record(Overall.INTERRUPTED, good()[:4], **more)  # type: ignore[arg-type]  # passed on


FAULT = NamedFault(id="burnt_no", title="burnt contact", weight=0.9, advice="An invented advice.")


def judgement(of: RunRecord, minutes: int = 60) -> Judgement:
    """The same limits once more, `minutes` after the run."""
    return Judgement(
        id=f"20260504T103015-{of.run[-6:]}{minutes}",
        run=of.run,
        at=STARTED + timedelta(minutes=minutes),
        simulated=of.simulated,
        origin=of.origin,
        plan=plan(),
        decisions=tuple(Decision(id=j.id, outcome=j.outcome, reason=j.reason, limit=j.limit) for j in of.judged),
        faults=(FAULT,),
        verdict=verdict(Overall.UNSURE),
        software="0.1.0",
    )


def calibration_record() -> CalibrationRecord:
    """An invented calibration of the virtual board."""
    return CalibrationRecord(
        calibration=calibration(True),
        board=board(),
        meter=Meter(),
        observed=Observed(),
        left_out=(),
        refused=(),
        software="0.1.0",
    )
