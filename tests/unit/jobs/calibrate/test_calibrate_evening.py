"""A calibrated evening bench: the ohms of a coil against what they are."""

from statistics import fmean

from calibrated import calibrate_virtual

from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.measure.perform import perform
from pulldrop.model.reading import Reading


def test_coil_ohms_are_as_well_known_as_it_says() -> None:
    """Of a resistor read at a few mA they were not, for the bus shows nothing below 0; nor with a zero that held what
    the divider at the coil's low end draws."""
    part, off = specimens.find("good-12v-changeover").specimen, []
    plan = plan_for_specimen(part, False, "relay-quick")
    plan = plan.model_copy(update={"steps": tuple(step for step in plan.steps if step.measure == "coil")})
    for seed in range(1, 11):
        board = EveningBoard(part, seed)
        made = perform(plan, board, calibrate_virtual(seed, evening=True), rested_s=1e5)
        (ohm,) = (one for one in made if isinstance(one, Reading) and one.id == "coil_resistance")
        assert ohm.value is not None and ohm.expanded_uncertainty < 0.0025 * ohm.value
        off.append((ohm.value - board.plant.relay.ohm) / ohm.expanded_uncertainty)
    assert max(map(abs, off)) < 1.2 and abs(fmean(off)) < 0.4, off
