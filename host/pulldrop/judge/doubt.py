"""What makes a reading unsure, and what to do about it: the largest term of its budget decides.

Rule: advice that does not touch the largest term is no advice. A part that scatters is not mended by calibrating.
"""

from collections.abc import Sequence

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.reading import Mend, Reading, Term
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps import STEPS
from pulldrop.model.verdict import Judged

ADVICE: dict[Mend, str] = {
    "makes": "The part itself differs from make to make: {finer}, which makes more often",
    "warmth": "Let part and bench lie together until they are equally warm, and run again",
    "steps": "The steps are coarse: {finer}, whose steps are finer",
    "calibration": "Calibrate the bench, with better references where it is calibrated, and run again",
}
"""But for what nothing mends."""
ELSE = ", or treat the part as not good."
NOTHING = "Treat the part as not good: no calibration makes the doubt smaller on this bench."


def doubt(unsure: Sequence[Judged], plan: Plan) -> tuple[str, str]:
    """What it means and what to do next, one sentence each."""
    means, advice = [], []
    for one in unsure:
        largest = _largest(one.finding) if isinstance(one.finding, Reading) else None
        if isinstance(one.finding, Reading) and one.finding.state is not None:
            means.append(f"of {MEASUREMENTS[one.id].title} {one.reason}")
            advice.append("Look at its leads, and turn it again, resting on each position until the tone")
            continue
        title = MEASUREMENTS[one.id].title
        if largest is None:
            means.append(f"of {title} only a bound is known")
            advice.append("Measure over a wider range")
        else:
            means.append(f"most of the doubt in {title} is '{largest.name}' ({largest.why})")
            advice.append(ADVICE.get(largest.mend, "").format(finer=_finer(one.id, plan)))
    told = "; ".join(dict.fromkeys(means))
    to_do = "; ".join(dict.fromkeys(filter(None, advice)))
    return (
        f"The bench cannot tell on which side of the limit the part is: {told}.",
        to_do + ELSE if to_do else NOTHING,
    )


def _finer(id: str, plan: Plan) -> str:
    """What to run where the part was not measured finely enough."""
    full = (one for one in plan.leads_on if one.purpose == "full")
    name = next((one.name for one in full if any(id in STEPS[kind].gives for kind in one.steps)), "")
    return f"run the protocol {name}" if name else "write a protocol of your own"


def _largest(reading: Reading) -> Term | None:
    return max(reading.budget, key=lambda term: term.u, default=None)
