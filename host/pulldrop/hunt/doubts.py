"""Looks that the leading rule contradicts: which are looked at again, and when no rule of the language fits.

Rule: a look is repeated a few times at most. What two steps with every position confirmed agree on is a fact, and a
leading rule that says otherwise is none.
"""

from collections import Counter
from collections.abc import Iterator

import numpy as np

from pulldrop.hunt.language import Language
from pulldrop.hunt.leader import Leader
from pulldrop.hunt.proof import Item
from pulldrop.hunt.record import Record, Tally
from pulldrop.hunt.space import Setting

RETESTS, SETTLED_RETESTS = 2, 4
"""Looks more at a setting that the leading rule contradicts; more still once two steps agree against it."""


def doubted(language: Language, record: Record, found: Leader) -> Setting | None:
    """A setting whose looks the leading rule contradicts, and that was not looked at often."""
    if found.rule.button >= 0 or found.mass < 0.5:
        return None
    for tally, live in _predicted(language, record, found):
        most = RETESTS if tally.settled is None else SETTLED_RETESTS
        if (tally.weight > 0) != live and tally.live + tally.dead <= most:
            return tally.setting
    return None


def contradicts(language: Language, record: Record, found: Leader) -> bool:
    """Whether settled settings do otherwise than the leading rule: no rule of the language does better."""
    if found.rule.button >= 0:
        return False
    return any(
        tally.settled is not None and tally.settled != live for tally, live in _predicted(language, record, found)
    )


def tries(record: Record, item: Item) -> int:
    """Steps since the last reading that saw a setting of the item otherwise; 0 for one whose looks count in order."""
    wrong: Counter[int] = Counter()
    for setting, live in zip(item.walk, item.live, strict=True):
        wrong.update(record.steps_at(setting, not live, record.read_step))
    return 0 if item.ordered else len(wrong)


def _predicted(language: Language, record: Record, found: Leader) -> Iterator[tuple[Tally, bool]]:
    tallies = record.tallies()
    held = language.holds(np.array(found.rule.paths), np.array([one.setting for one in tallies]))
    yield from zip(tallies, (bool(one.any()) for one in held), strict=True)
