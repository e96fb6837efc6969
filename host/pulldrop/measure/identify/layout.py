"""Where coil and contacts lie, by what conducts, and whether the coil supply may be used on it.

Rule: in every layout known here 85 is one end of the coil; 30 and 86 are the common contact and its other end.
"""

from pulldrop.measure.identify.survey import Survey
from pulldrop.model.part.identification import Layout

SHORT_OHM = 15.0
"""Below it no coil that this bench can feed: 12 V over 15 ohm is 0.8 A."""


def layout_of(survey: Survey) -> Layout:
    """Where coil and contacts lie. In every layout known here 85 is one end of the coil."""
    partner = coil_partner(survey)
    usual = partner == "86" or any(survey.closed("30", throw) for throw in ("87", "87a"))
    exchanged = partner == "30" or any(survey.closed("86", throw) for throw in ("87", "87a"))
    if partner in ("87", "87a") or survey.closed("30", "86") or (usual and exchanged):
        return "other"
    if exchanged:
        return "exchanged"
    return "usual" if usual else "unknown"


def coil_partner(survey: Survey) -> str | None:
    """The blade that conducts best to 85."""
    found = [(ohm, other) for other in ("86", "30", "87", "87a") if (ohm := _least_ohm(survey, other)) is not None]
    return min(found)[1] if found else None


def _least_ohm(survey: Survey, other: str) -> float | None:
    pairs = (survey.at(other, "85"), survey.at("85", other))
    return min((pair.ohm for pair in pairs if pair is not None and pair.ohm is not None), default=None)


def shorted(survey: Survey) -> bool:
    """The coil's blades are joined by next to nothing."""
    partner = coil_partner(survey)
    ohm = _least_ohm(survey, partner) if partner else None
    return ohm is not None and ohm < SHORT_OHM


def may_feed(survey: Survey) -> bool:
    """Whether half a volt on 86, and some more, is harmless: the coil is where the supply is, and no short."""
    fed = survey.at("86", "85")
    return (
        not survey.bare
        and layout_of(survey) == "usual"
        and fed is not None
        and fed.ohm is not None
        and not shorted(survey)
    )
