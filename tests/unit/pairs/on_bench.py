"""Invented fuses and lamps on a virtual board of any build, tested as `pulldrop pair` does."""

import json
from dataclasses import dataclass
from typing import Any

from pulldrop.jobs.run.boards import open_socket
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.judge import judge_finding, verdict
from pulldrop.judge.diagnosis import diagnose
from pulldrop.measure.perform import StepStarted, perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.part.rating import KindRating
from pulldrop.model.reading import Finding, Reading
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.verdict import Verdict
from pulldrop.plant.parts.two_terminal import TwoTerminalSpecimen
from pulldrop.protocol.load import plan

FUSE = {"component": "fuse", "rated_a": 10.0}
LAMP = {"component": "lamp", "volts": 12.0, "amps": 1.75, "hot_k": 2780.0}


@dataclass(frozen=True)
class Tested:
    """What a test came to."""

    found: dict[str, Finding]
    faults: tuple[NamedFault, ...]
    verdict: Verdict
    bench_s: float

    def read(self, id: str) -> Reading:
        """A reading that was made."""
        found = self.found[id]
        assert isinstance(found, Reading), found
        return found


def part(given: dict[str, Any], **faults: float | bool) -> VirtualPart:
    """An invented part, checked as a file is."""
    text = json.dumps({"kind": "two-terminal", "title": "invented", **given, "faults": faults})
    return VirtualPart(TwoTerminalSpecimen.model_validate_json(text, strict=True).in_socket(), text)


def run_on(rating: KindRating | str, thing: VirtualPart, board: str = "virtual", seed: int = 3) -> Tested:
    """Against a rating, on an uncalibrated board."""
    made = plan("pair-quick", rating)
    with open_socket(board, thing, seed) as opened:
        at = opened.board.identity
        calibration = nominal(at.serial, at.build)
        steps = perform(made, opened.board, calibration)
        found = {one.id: one for one in steps if not isinstance(one, StepStarted)}
        bench_s = opened.board.elapsed()
    judged = [judge_finding(made, one) for one in found.values()]
    faults = diagnose(made, found.values()).faults
    return Tested(found, faults, verdict(made, judged, "complete", faults=faults), bench_s)
