"""What has to be seen before a rule is called proved, and which of it was seen.

Rule: a path is proved by itself, where every other path is dead: live with its conditions alone, dead in every other
position of each control it names, live again. All of it in two different steps, the second after every position was
read aloud; and no button outside of the rule changes it. What one person cannot set is named, and not claimed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product

import numpy as np

from pulldrop.hunt.language import Language, Literal
from pulldrop.hunt.record import Record
from pulldrop.hunt.space import Setting

BUTTONS_A_STEP = 3


@dataclass(frozen=True)
class LeadingRule:
    """`paths`: conjunctions, none implied by another. `button`, `position`, `resets`: of a memory; button -1: none."""

    paths: tuple[int, ...]
    button: int = -1
    position: int = -1
    resets: bool = False


@dataclass(frozen=True)
class Item:
    """Settings to be gone through in one step, and whether each is live. `ordered`: the looks count as this sequence,
    or as `other` (a memory whose state was not known); else each setting counts wherever it was seen."""

    walk: tuple[Setting, ...]
    live: tuple[bool, ...]
    ordered: bool = False
    other: tuple[bool, ...] = ()
    once: bool = False

    def seen(self, record: Record, since: int, before: int) -> bool:
        """Whether it was seen in steps after `since` and up to `before`."""
        if self.ordered:
            return any(since < step <= before for step in _steps_like(self, record))
        return all(
            any(since < step <= before for step in record.steps_at(setting, live))
            for setting, live in zip(self.walk, self.live, strict=True)
        )


@dataclass(frozen=True)
class Program:
    """All that a proof needs; `untestable`: conditions that cannot be shown, by the controls involved."""

    items: tuple[Item, ...]
    untestable: tuple[tuple[int, ...], ...]

    def missing(self, record: Record) -> Item | None:
        """The next item of the first pass, in any step so far."""
        return next((one for one in self.items if not one.seen(record, 0, record.steps)), None)

    def missing_again(self, record: Record) -> Item | None:
        """The next item of the second pass: once before the last reading of the positions, once after it."""
        last = record.read_step
        for one in self.items:
            if one.once:
                continue
            before, after = one.seen(record, 0, last), one.seen(record, last, record.steps)
            if not last or not after or not (before or _twice(one, record, last)):
                return one
        return None

    def unread(self, record: Record) -> bool:
        """Whether a part of the first pass was seen after the last reading of the positions alone."""
        last = record.read_step
        return last == 0 or any(not one.once and not one.seen(record, 0, last) for one in self.items)


def program(language: Language, rule: LeadingRule) -> Program:
    """The proof of a rule."""
    prover = _Prover(language, rule)
    if rule.button >= 0:
        return Program(tuple(prover.of_memory()), tuple(prover.untestable))
    items = [item for path in rule.paths for item in prover.of_path(path)]
    return Program((*items, *prover.of_buttons()), tuple(prover.untestable))


def without_implied(language: Language, paths: Sequence[int]) -> tuple[int, ...]:
    """The paths that are not implied by another one, without `never`."""
    listed = list(dict.fromkeys(int(one) for one in paths if one != language.never))
    blocked = language.blocked
    return tuple(
        one
        for one in listed
        if not any(
            other != one
            and not (blocked[other] & ~blocked[one]).any()
            and ((blocked[one] & ~blocked[other]).any() or other < one)
            for other in listed
        )
    )


class _Prover:
    def __init__(self, language: Language, rule: LeadingRule) -> None:
        self.language, self.space, self.rule = language, language.space, rule
        self.paths = [language.conditions(path) for path in rule.paths]
        self.untestable: list[tuple[int, ...]] = []

    def of_path(self, path: int) -> Iterator[Item]:
        conditions = self.language.conditions(path)
        bases = [base for base in self._bases(conditions) if self._alone(path, base)]
        if not bases:
            self.untestable.append(tuple(one.control for one in conditions))
            return
        if not conditions:
            yield Item((bases[0],), (True,))
        for one in conditions:
            yield from self._of_condition(one, bases)

    def _of_condition(self, one: Literal, bases: list[Setting]) -> Iterator[Item]:
        by_base: dict[int, list[tuple[Setting, bool]]] = {}
        for position in self.space.allowed[one.control]:
            live = position in one.positions
            at = next((i for i, base in enumerate(bases) if self._shows(_put(base, one.control, position), live)), None)
            if at is None:
                self.untestable.append((one.control,))
            elif position != bases[at][one.control]:
                by_base.setdefault(at, []).append((_put(bases[at], one.control, position), live))
        for at, settings in by_base.items():
            walk = [(bases[at], True), *settings, (bases[at], True)]
            yield Item(tuple(setting for setting, _ in walk), tuple(live for _, live in walk))

    def of_buttons(self) -> Iterator[Item]:
        """Buttons outside of the rule, pressed while it is live: one may turn it over."""
        named = {one.control for path in self.paths for one in path}
        buttons = [
            (i, p) for i in self.space.free if i not in named for p in self.space.allowed[i] if self.space.holds(i, p)
        ]
        base = next((base for path in self.paths for base in self._bases(path)), None)
        if base is None:
            return
        fit = [(i, p) for i, p in buttons if self._shows(_put(base, i, p), True)]
        for start in range(0, len(fit), BUTTONS_A_STEP):
            group = [_put(base, i, p) for i, p in fit[start : start + BUTTONS_A_STEP]]
            walk = [base, *(setting for one in group for setting in (one, base))]
            yield Item(tuple(walk), (True,) * len(walk), once=True)

    def of_memory(self) -> Iterator[Item]:
        """Each condition of the path taken away and given back while the memory is on, and two presses more."""
        conditions, button, position = self.paths[0], self.rule.button, self.rule.position
        base = next(iter(self._bases(conditions)), None)
        if base is None or not self._possible(_put(base, button, position)):
            self.untestable.append((*(one.control for one in conditions), button))
            return
        pressed = _put(base, button, position)
        yield self._walked([base, pressed, base, pressed, base, pressed, base])
        for one in conditions:
            for other in self.space.allowed[one.control]:
                if other == base[one.control]:
                    continue
                moved = _put(base, one.control, other)
                yield self._walked([base, pressed, base, moved, base, pressed, base, moved, base])

    def _walked(self, walk: list[Setting]) -> Item:
        """What the memory gives along it, started off and started on."""
        fed = self.language.holds(np.array(self.rule.paths), np.array(walk))[:, 0]
        made = []
        for state in (False, True):
            live, on = [], state
            for i, setting in enumerate(walk):
                fresh = i > 0 and setting[self.rule.button] == self.rule.position
                on = on ^ bool(fresh and fed[i])
                if self.rule.resets and not fed[i]:
                    on = False
                live.append(bool(fed[i]) and on)
            made.append(tuple(live))
        return Item(tuple(walk), made[0], True, made[1])

    def _bases(self, conditions: list[Literal]) -> Iterator[Setting]:
        """Settings in which the path holds: the rest at rest first, then with another path broken."""
        others = [one for path in self.paths if path != conditions for one in path]
        named = {one.control for one in conditions}
        choices = [sorted(one.positions, key=partial(self.space.effort, one.control)) for one in conditions]
        breaks: list[list[tuple[int, int]]] = [[]]
        breaks += [
            [(one.control, p)]
            for one in others
            if one.control not in named
            for p in self.space.allowed[one.control]
            if p not in one.positions and p
        ]
        for extra in breaks:
            for positions in product(*choices):
                base = self.space.at_rest.copy()
                for control, position in extra:
                    base[control] = position
                for one, position in zip(conditions, positions, strict=True):
                    base[one.control] = position
                if self._possible(base):
                    yield base

    def _alone(self, path: int, base: Setting) -> bool:
        held = self.language.holds(np.array(self.rule.paths), base[None])[0]
        return bool(held[self.rule.paths.index(path)] and held.sum() == 1)

    def _shows(self, setting: Setting, live: bool) -> bool:
        held = self.language.holds(np.array(self.rule.paths), setting[None])[0]
        return self._possible(setting) and bool(held.any()) == live

    def _possible(self, setting: Setting) -> bool:
        return bool(self.space.possible(setting[None])[0])


def _put(base: Setting, control: int, position: int) -> Setting:
    made = base.copy()
    made[control] = position
    return made


def _twice(item: Item, record: Record, since: int) -> bool:
    """Whether each setting was seen so in two steps after the reading."""
    if item.ordered:
        return sum(step > since for step in _steps_like(item, record)) >= 2
    return all(
        sum(step > since for step in record.steps_at(setting, live)) >= 2
        for setting, live in zip(item.walk, item.live, strict=True)
    )


def _steps_like(item: Item, record: Record) -> Iterator[int]:
    """Steps whose looks, one after the other, are the sequence of the item."""
    by_step: dict[int, list[tuple[bytes, bool]]] = {}
    for look in record.looks:
        by_step.setdefault(look.step, []).append((look.setting.tobytes(), look.acts))
    for live in (item.live, item.other):
        wanted = [(setting.tobytes(), on) for setting, on in zip(item.walk, live, strict=True)]
        for step, looks in by_step.items():
            if _contains(looks, wanted) or _contains(looks, wanted[1:]):
                yield step


def _contains(looks: list[tuple[bytes, bool]], wanted: list[tuple[bytes, bool]]) -> bool:
    return any(looks[i : i + len(wanted)] == wanted for i in range(len(looks) - len(wanted) + 1))
