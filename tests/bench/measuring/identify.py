"""Does the look find out what a part is? Random parts of every kind, on random benches, full and bare.

Seeds 1 to 9 were used while the rules were written. Seeds from 1000 on are held out: nothing was tuned on them.
*right*: the truth was said; *named*: it was said to be possible, another one likelier, or that it cannot be told;
*wrong*: something else was said. What a rest cannot show (B from C) counts as named.
"""

import argparse
import random
import sys
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from typing import Literal

from calibrated import calibrate_virtual
from identifications import Truth, draw
from report import AnyGoal, Goal, Share, close

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run.identify import identify
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.part.identification import Identification

Mark = Literal["right", "named", "wrong"]
SUBJECTS = ("layout", "form", "coil", "class", "suppression")
ZENER_HALF_V = 3.0
"""The converter's reference and two resistors are known to 5 %, and a zener's own slope adds a little."""


@dataclass(frozen=True)
class Result:
    """One part: its truth, what was said, and how each statement is marked."""

    bare: bool
    truth: Truth
    identified: Identification
    marks: dict[str, Mark] = field(default_factory=dict)

    @property
    def harmed(self) -> bool:
        """It may be energised by what was said, and would come to harm."""
        return self.truth.harmful and not self.identified.refuse and not self.bare

    @property
    def burnt(self) -> bool:
        """A 12 V coil for which a 24 V class is proposed."""
        return self.truth.volts == 12.0 and bool(self.identified.rating) and self.identified.volts == 24.0


def marks(truth: Truth, identified: Identification, bare: bool) -> dict[str, Mark]:
    """Every statement held to the truth."""
    if identified.empty:
        return {"layout": "named" if truth.blank(bare) else "wrong"}
    found: dict[str, Mark] = {
        "layout": "named" if identified.layout == "unknown" else _same(identified.layout == truth.layout),
        "form": _form(truth, identified),
        "coil": _coil(truth, identified),
    }
    if truth.winding == "whole" and identified.winding == "whole":
        found["class"] = "named" if identified.volts is None else _same(identified.volts == truth.volts)
        found["suppression"] = _suppression(truth, identified)
    return found


def _same(right: bool) -> Mark:
    return "right" if right else "wrong"


def _form(truth: Truth, identified: Identification) -> Mark:
    if identified.forms[:1] == (truth.form,):
        return "right"
    told = identified.said("form")
    return "named" if truth.form in identified.forms or (told is not None and told.sure == "unsure") else "wrong"


def _coil(truth: Truth, identified: Identification) -> Mark:
    if identified.winding == truth.winding:
        return "right"
    told = identified.said("coil")
    return "named" if identified.winding == "unknown" or (told is not None and told.sure == "unsure") else "wrong"


def _suppression(truth: Truth, identified: Identification) -> Mark:
    seen = identified.suppression
    if seen.kind == "unknown":
        return "named" if not seen.possible or truth.kind in seen.possible else "wrong"
    right = seen.kind == truth.kind and seen.reversed == truth.reversed
    if right and truth.kind == "resistor":
        right = bool(seen.ohm_least and seen.ohm_most and seen.ohm_least <= truth.ohm <= seen.ohm_most)
    if right and truth.kind == "zener":
        right = seen.zener_v is not None and abs(seen.zener_v - truth.zener_v) < ZENER_HALF_V
    return _same(right)


def one_part(number: int, seed: int) -> Result:
    """Draw a part and a bench, and look."""
    chance = random.Random(f"identify:{seed}:{number}")
    specimen, truth = draw(chance)
    bench, bare, calibrated = chance.getrandbits(40), chance.random() < 0.4, chance.random() < 0.3
    with VirtualBoard(specimen, bench, bare) as board:
        identified = identify(board, calibrate_virtual(bench) if calibrated and not bare else nominal(bench))
    return Result(bare, truth, identified, marks(truth, identified, bare))


def campaign(seed: int, parts: int, workers: int = 2) -> list[Result]:
    """All results, in the order of their numbers."""
    work = partial(one_part, seed=seed)
    if workers == 1:
        return [work(number) for number in range(parts)]
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(work, range(parts), chunksize=8))


def goals(results: Sequence[Result]) -> list[AnyGoal]:
    """The campaign's figures beside what is asked of them."""
    made: list[AnyGoal] = [
        Goal("harmful parts that might be energised", sum(one.harmed for one in results), high=0),
        Goal("12 V coils sent to 24 V", sum(one.burnt for one in results), high=0),
    ]
    for bare in (False, True):
        build = "bare" if bare else "full"
        for subject in SUBJECTS:
            told = [one.marks[subject] for one in results if one.bare is bare and subject in one.marks]
            if told:
                wrong, right, low = told.count("wrong"), told.count("right"), least(bare, subject)
                made.append(Share(f"{build}: {subject} wrong", wrong, len(told), high=0.005))
                made.append(Share(f"{build}: {subject} right", right, len(told), low=low))
    return made


def least(bare: bool, subject: str) -> float:
    """What share must be said right: a look that says "not told" of everything is never wrong."""
    if subject == "form":
        return 0.5  # a part at rest does not show B from C, nor A from a C whose NC is dead
    if subject == "suppression":
        return 0.25 if bare else 0.85  # a bare board cannot make a spike
    return 0.9


def print_table(results: Sequence[Result]) -> None:
    """Shares of right, named and wrong, and what was said of each suppression."""
    for bare in (False, True):
        print(f"{'bare' if bare else 'full'} build{'':14}parts  right  named  wrong")
        for subject in SUBJECTS:
            told = Counter(one.marks[subject] for one in results if one.bare is bare and subject in one.marks)
            whole = max(sum(told.values()), 1)
            shares = "".join(f"{100 * told[mark] / whole:6.1f}%" for mark in ("right", "named", "wrong"))
            print(f"  {subject:20} {whole:5} {shares}")
        said = Counter((_true(one), _said(one)) for one in results if one.bare is bare and "suppression" in one.marks)
        for (true, told), n in sorted(said.items()):
            print(f"    {true:24} said to be {told:24} {n:5}")


def _true(one: Result) -> str:
    return f"{one.truth.kind}{' reversed' if one.truth.reversed else ''}"


def _said(one: Result) -> str:
    seen = one.identified.suppression
    return f"{seen.kind}{' reversed' if seen.reversed else ''}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1, help="draws parts and benches; from 1000 on held out; default 1")
    parser.add_argument("--parts", type=int, default=1000, help="how many virtual parts; default 1000")
    parser.add_argument("--wrong", action="store_true", help="also print every part of which something wrong was said")
    given = parser.parse_args()
    results = campaign(given.seed, given.parts)
    print(f"Identify: {len(results)} invented parts, each on a virtual bench of its own, seed {given.seed}.")
    print_table(results)
    for number, one in enumerate(results):
        if given.wrong and ("wrong" in one.marks.values() or one.harmed or one.burnt):
            print(number, "bare" if one.bare else "full", one.truth, one.marks, one.identified.model_dump_json())
    return close("identify", given, goals(results))


if __name__ == "__main__":
    sys.exit(main())
