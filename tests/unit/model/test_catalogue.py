"""The catalogue is whole, and the way to a new measurement or step is as short as the page for developers says."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Literal

import pytest

from pulldrop.measure.perform import PROCEDURES
from pulldrop.model.measurement import MEASUREMENTS, Measurement
from pulldrop.model.part.kinds.two_terminal import FIGURES
from pulldrop.model.part.relay import NC, NO, TWIN
from pulldrop.model.quantity import UNITS
from pulldrop.model.steps import STEPS
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.protocol.shipped.purposes import shipped

ROOT = Path(__file__).parents[3]


@pytest.mark.parametrize("row", MEASUREMENTS.values(), ids=lambda row: row.id)
def test_every_row_of_the_catalogue_is_complete(row: Measurement) -> None:
    assert row.title and row.meaning and row.failed, "a failing part would have no sentence"
    assert row.unit in {"", "%", *UNITS.values()}
    assert [kind for kind, step in STEPS.items() if row.id in step.gives], "no step gives it"


def test_what_the_catalogue_says_of_a_row_agrees_with_its_other_rows() -> None:
    for row in MEASUREMENTS.values():
        assert not row.instead or (MEASUREMENTS[row.instead].at_20 and not row.at_20), row.id
        assert not row.cleaned or row.pair, row.id
    assert {row.pair for row in MEASUREMENTS.values() if row.id in ContactStep.gives} == {NO, NC, TWIN}


def test_every_protocol_wants_only_what_its_kind_of_part_has() -> None:
    for one in shipped():
        kinds = {kind for step in one.steps for kind in STEPS[step].kinds}
        assert kinds <= set(FIGURES) if one.kind == "two-terminal" else kinds == {one.kind}, one.name


@pytest.mark.parametrize("kind", STEPS)
def test_every_step_is_told_and_done(kind: str) -> None:
    step = STEPS[kind]
    assert step.title and step.gives and (step.__doc__ or "").strip()
    assert set(step.gives) <= set(MEASUREMENTS) and kind in PROCEDURES
    assert step.model_fields["measure"].annotation == Literal[kind]


ROW = """
        Measurement("coil_current_held", "held coil current", "A",
                    "coil current after it was held on for a while",
                    "the coil takes the wrong current once it is held"),
"""
SETTINGS = '''"""Settings of the current of a coil that is held on."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import CoilVolts, Step


class HeldStep(Step):
    """The coil's current after it was held on at `coil` volts."""

    title: ClassVar[str] = "held coil current"
    gives: ClassVar[tuple[str, ...]] = ("coil_current_held",)

    measure: Literal["held"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.coil
'''
PROCEDURE = '''"""The current of a coil that is held on."""

from collections.abc import Iterator

from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import reading
from pulldrop.model.reading import Finding, amount
from pulldrop.model.steps.coil.held import HeldStep


def procedure(rig: PartOnRig, step: HeldStep) -> Iterator[Finding]:
    """coil_current_held."""
    rig.energise(step.coil, 0.2)
    yield reading("coil_current_held", rig.sense().amps, rig.conditions(coil_voltage=amount(step.coil, "V")))
    rig.release(0.05)
'''


def test_a_measurement_is_one_row_and_its_step_two_files_and_nothing_else_knows(tmp_path: Path) -> None:
    host = tmp_path / "host" / "pulldrop"
    shutil.copytree(ROOT / "host" / "pulldrop", host)
    shutil.copytree(ROOT / "protocols", tmp_path / "protocols")
    catalogue = host / "model" / "measurement.py"
    text = catalogue.read_text("utf-8")
    last = text.index("    )\n}  # fmt: skip")
    catalogue.write_text(text[:last] + ROW.lstrip("\n") + text[last:], "utf-8")
    (host / "model" / "steps" / "coil" / "held.py").write_text(SETTINGS, "utf-8")
    (host / "measure" / "steps" / "coil" / "held.py").write_text(PROCEDURE, "utf-8")
    shipped = (ROOT / "protocols" / "relay-quick.yaml").read_text("utf-8")
    ours = shipped.replace("protocol: relay-quick", "protocol: held").replace(
        "limits:\n", '  - measure: held\n    coil: 13.5 V\n\nlimits:\n  coil_current_held: "<= 50 mA"\n'
    )
    (tmp_path / "held.yaml").write_text(ours, "utf-8")
    ran = subprocess.run(
        [
            sys.executable, "-m", "pulldrop", "test", "--board", "virtual", "--specimen", "good-12v-changeover",
            "--protocol", "held.yaml", "--json", "--store", "kept.db",
        ],
        cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(host.parent)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    record = json.loads(ran.stdout)
    judged = next(one for one in record["judged"] if one["id"] == "coil_current_held")
    assert judged["finding"]["budget"] and 0.1 < judged["finding"]["value"] < 0.2
    assert judged["outcome"] == "fail" and "takes the wrong current once it is held" in record["verdict"]["means"]
