"""Drop-out once more, after a magnetising voltage well above nominal: soft iron forgets it, hardened iron does not.

Rule: it comes last. What overdrive leaves in bad iron stays there, and lowers every drop-out that follows.
"""

from collections.abc import Iterator

from pulldrop.measure.rig.coil.walks import DROP_START, ZERO_S, drop_out
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.model.reading import Finding
from pulldrop.model.steps.coil.overdrive import OverdriveStep
from pulldrop.model.steps.coil.thresholds import ThresholdsStep


def procedure(rig: PartOnRig, step: OverdriveStep) -> Iterator[Finding]:
    """drop_out_overdriven."""
    rig.must_rest(rig.release(ZERO_S))
    walk = ThresholdsStep(measure="thresholds").model_copy(update={"coarse": step.coarse, "fine": step.fine})
    yield drop_out(rig, walk, "drop_out_overdriven", step.full, DROP_START * rig.nominal_v)
    rig.release(ZERO_S)
