"""Waveforms that another instrument captured, read and held against the limits of a rating.

Rule: what was captured elsewhere makes no verdict and enters no store; single readings are judged as a run's are.
"""

from typing import Literal

from pulldrop.judge.decide import decide, judge_finding
from pulldrop.measure.waveform import told
from pulldrop.model.origin import Origin
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import FORMS, NC, NO, Form, form_of
from pulldrop.model.raw import Frozen
from pulldrop.model.verdict import Judged
from pulldrop.protocol.load import plan
from pulldrop.protocol.shipped.purposes import protocol_for
from pulldrop.text.waveform import Waveform

MEANS = "captured elsewhere, by another instrument; nobody vouches for it."
SAME_V = 0.02
"""Coil volts within this share of a rating's are those at which its times hold (as `measure/waveform` takes them)."""


class OtherVolts(ValueError):
    """The coil was switched at other volts than those at which the rating's times hold."""


class CapturedAnswer(Frozen):
    """Of `waveform`. `origin`: no board of this program measured it, and nobody vouches for its scales or for the part.

    `early_share`: the coil's current 0.4 ms after the switching over that at the end.
    """

    origin: Literal[Origin.OUTSIDE] = Origin.OUTSIDE
    files: tuple[str, ...]
    remarks: tuple[str, ...]
    form: Form
    coil_v: float
    rating: str
    judged: tuple[Judged, ...]
    early_share: float | None


def captured(operate: Waveform, release: Waveform | None, coil_v: float, rating: Rating | None) -> CapturedAnswer:
    """What the waveforms say. Without a rating nothing is held against a limit. Raises OtherVolts."""
    form = rating.form if rating else _form(operate)
    if rating and abs(coil_v - rating.nominal) > SAME_V * rating.nominal:
        raise OtherVolts(
            f"the coil was switched at {coil_v:g} V, and times of the rating '{rating.rating}' hold at"
            f" {rating.nominal:g} V"
        )
    seen = told(FORMS[form], coil_v, operate, release)
    at = plan(protocol_for(rating.kind, "full"), rating) if rating else None
    return CapturedAnswer(
        files=tuple(one.file for one in (operate, release) if one),
        remarks=tuple(remark for one in (operate, release) if one for remark in one.remarks),
        form=form,
        coil_v=coil_v,
        rating=rating.rating if rating else "",
        judged=tuple(judge_finding(at, one) if at else decide(one, None) for one in seen.findings),
        early_share=seen.early_share,
    )


def _form(waveform: Waveform) -> Form:
    """By the contacts that were captured."""
    if waveform.no is None and waveform.nc is not None:
        return form_of(NC).form
    return form_of(NO, NC).form if waveform.nc is not None else form_of(NO).form
