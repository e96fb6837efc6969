"""What was looked at in a hunt, in order, and how far it can be trusted.

Rule: a position counts as confirmed once the person read it aloud after it was set. A position that was read otherwise
than it was believed is rewritten in every look since that control was last named, or since the reading before.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from pulldrop.hunt.space import Setting, Settings, Space
from pulldrop.model.hunt.look import WireLevel

ERROR, DOUBT, MOST = 0.006, 0.006, 0.05
"""Odds that a look is wrong, more for each control in it whose position nobody confirmed, and at most (assumed: 3 in
100 steps go wrong, and one in five of those shows)."""
NO_CONTACT, LATE = 0.004, 0.05
"""More for a dead look: a contact may have failed to close; and while no delay is known and the hand went on."""
TAPPED = 0.03
"""Of a look whose setting comes from taps."""


@dataclass
class Seen:
    """One look. `control`, `position`: the move before it, -1 for none; `doubt`: controls named and not confirmed;
    `hasty`: not watched as long as the wire may take to come on."""

    setting: Setting
    control: int
    position: int
    step: int
    level: WireLevel
    acts: bool
    doubt: set[int]
    tapped: bool = False
    hasty: bool = False

    @property
    def wrong(self) -> tuple[float, float]:
        """Odds that a live, and that a dead look is wrong."""
        e = TAPPED if self.tapped else min(MOST, ERROR + DOUBT * len(self.doubt))
        return e, e + NO_CONTACT + LATE * self.hasty

    @property
    def weight(self) -> float:
        """Logarithm of how much likelier the look is if the wire should be live than if it should be dead."""
        live_wrong, dead_wrong = self.wrong
        return math.log((1 - dead_wrong) / live_wrong) if self.acts else math.log(dead_wrong / (1 - live_wrong))


@dataclass
class Tally:
    """All looks at one setting."""

    setting: Setting
    weight: float = 0.0
    live: int = 0
    dead: int = 0
    sure_live: set[int] = field(default_factory=set)
    sure_dead: set[int] = field(default_factory=set)
    """Steps in which it was seen with every position confirmed, but for those that a hand held."""

    @property
    def settled(self) -> bool | None:
        """What the wire does here, where confirmed looks of two steps agree and none disagrees."""
        if self.sure_live and self.sure_dead:
            return None
        if len(self.sure_live | self.sure_dead) < 2:
            return None
        return bool(self.sure_live)


class Record:
    """`state`: the positions believed now; nothing is held between steps."""

    def __init__(self, space: Space) -> None:
        self.space = space
        self.looks: list[Seen] = []
        self.state = space.at_rest
        self.steps = 0
        self.read_step = 0
        """The step at which positions were last read aloud."""
        self.rewritten = 0
        """Counts what changed earlier looks: whoever keeps sums of them starts again."""
        self._named = [0] * space.n
        self._read_at = 0
        self._fresh: set[int] = set()

    def add(
        self,
        moves: Sequence[tuple[int, int]],
        levels: Iterable[tuple[WireLevel, bool] | None],
        tapped: bool = False,
        hasty: bool = False,
    ) -> None:
        """One step: a look after each move; None where it proves nothing. `hasty`: the last alone was watched long."""
        self.steps += 1
        now = self.state.copy()
        for i, ((control, position), seen) in enumerate(zip(moves, levels, strict=True)):
            now[control] = position
            if not self._springs_home(control, position):
                self._named[control] = len(self.looks)
                self._fresh.add(control)
            if seen is not None:
                self.looks.append(
                    Seen(
                        now.copy(),
                        control,
                        position,
                        self.steps,
                        seen[0],
                        seen[1],
                        set(self._fresh),
                        tapped,
                        hasty and i < len(moves) - 1,
                    )
                )
        self.state = self.space.let_go(now)

    def first(self, level: WireLevel, acts: bool) -> None:
        """One step: the wire with the positions as they are."""
        self.steps += 1
        self.looks.append(Seen(self.state.copy(), -1, -1, self.steps, level, acts, set(self._fresh)))

    def read(self, positions: Sequence[int]) -> list[int]:
        """Take the positions as read; give the controls that were believed elsewhere."""
        self.steps += 1
        self.read_step = self.steps
        wrong = [i for i in range(self.space.n) if positions[i] != self.state[i]]
        for i in range(self.space.n):
            since = max(self._named[i], self._read_at)
            for look in self.looks[since:]:
                if i in wrong and look.setting[i] == self.state[i]:
                    look.setting[i] = positions[i]
            for look in self.looks[self._named[i] :]:
                if look.setting[i] == positions[i]:
                    look.doubt.discard(i)
        self.rewritten += 1
        self.state = np.array(positions, np.int8)
        self._read_at = len(self.looks)
        self._fresh.clear()
        return wrong

    def tallies(self) -> list[Tally]:
        """The looks by setting, in order of the first."""
        made: dict[bytes, Tally] = {}
        for look in self.looks:
            tally = made.setdefault(look.setting.tobytes(), Tally(look.setting))
            tally.weight += look.weight
            tally.live += look.acts
            tally.dead += not look.acts
            held = all(self.space.holds(i, int(look.setting[i])) for i in look.doubt)
            if held and not look.tapped and not look.hasty:
                (tally.sure_live if look.acts else tally.sure_dead).add(look.step)
        return list(made.values())

    def levels(self) -> dict[bytes, Counter[WireLevel]]:
        """How often each level was seen at each setting."""
        made: dict[bytes, Counter[WireLevel]] = {}
        for look in self.looks:
            made.setdefault(look.setting.tobytes(), Counter())[look.level] += 1
        return made

    def steps_at(self, setting: Setting, acts: bool, since: int = 0) -> set[int]:
        """Steps after `since` in which this setting was seen like that, watched long enough; taps do not count."""
        wanted = setting.tobytes()
        return {
            look.step
            for look in self.looks
            if look.step > since
            and look.acts == acts
            and not (look.tapped or look.hasty)
            and look.setting.tobytes() == wanted
        }

    def tried(self) -> Settings:
        """The settings that were looked at, (S, n)."""
        return np.array([one.setting for one in self.tallies()], np.int8).reshape(-1, self.space.n)

    def _springs_home(self, control: int, position: int) -> bool:
        """Whether this only lets go of a button, which needs no reading."""
        return position == 0 and bool(self.space.held[control]) and len(self.space.allowed[control]) == 2
