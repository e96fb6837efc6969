"""What makes a reading unsure, and what to do about it: the largest term of its budget decides.

Rule: advice that does not touch the largest term is no advice. A part that scatters is not mended by calibrating.
"""

from collections.abc import Sequence

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.reading import Mend, Reading, Term
from pulldrop.model.verdict import Judged

ADVICE: dict[Mend, str] = {
    "makes": "The part itself differs from make to make: run the full protocol, which makes more often",
    "warmth": "Let part and bench lie together until they are equally warm, and run again",
    "steps": "Run the full protocol, whose steps are finer",
    "calibration": "Calibrate the bench, with better references where it is calibrated, and run again",
    "nothing": "No calibration makes this smaller on this bench",
}
ELSE = ", or treat the part as not good."


def doubt(unsure: Sequence[Judged]) -> tuple[str, str]:
    """What it means and what to do next, one sentence each."""
    means, advice = [], []
    for one in unsure:
        largest = _largest(one.finding) if isinstance(one.finding, Reading) else None
        title = MEASUREMENTS[one.id].title
        if largest is None:
            means.append(f"of {title} only a bound is known")
            advice.append("Measure over a wider range")
        else:
            means.append(f"most of the doubt in {title} is '{largest.name}' ({largest.why})")
            advice.append(ADVICE[largest.mend])
    told = "; ".join(dict.fromkeys(means))
    return (
        f"The bench cannot tell on which side of the limit the part is: {told}.",
        "; ".join(dict.fromkeys(advice)) + ELSE,
    )


def _largest(reading: Reading) -> Term | None:
    return max(reading.budget, key=lambda term: term.u, default=None)
