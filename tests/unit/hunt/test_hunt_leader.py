"""Which rules are of one class."""

import numpy as np
import pytest

from pulldrop.hunt import leader
from pulldrop.hunt.language import Language, Literal, Memories
from pulldrop.hunt.leader import Classes
from pulldrop.hunt.odds import Odds
from pulldrop.hunt.space import Space
from pulldrop.model.hunt.control import CabinControl, Precautions, key, latching, momentary, rotary


def odds_of(controls: list[CabinControl], *rules: tuple[list[list[Literal]], float]) -> Odds:
    language = Language(Space(controls, Precautions()))
    rows = []
    for paths, _ in rules:
        found = [language.find(one) for one in paths]
        assert all(one is not None for one in found)
        rows.append([*found, *[language.never] * (3 - len(found))])
    weight = np.array([one for _, one in rules])
    none = np.full(len(rules), -1)
    return Odds(language, Memories.of(language), np.array(rows), none, weight, np.zeros(0), True)


CABIN = [key(), *(rotary(f"rotary {i}", "0123") for i in range(3)), *(latching(f"switch {i}") for i in range(6))]


def test_rare_rules_of_which_no_sample_shows_any_are_not_taken_for_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(leader, "PROBES", 0)
    rare = [[*(Literal(i, (3,)) for i in (1, 2, 3)), Literal(other, (1,))] for other in range(4, 10)]
    odds = odds_of(CABIN, *(([one], 0.1) for one in rare))
    found = Classes(odds.language, 1).leader(odds)
    assert found is not None and abs(found.mass - 0.1) < 1e-9 and found.twins == ()


def test_rules_that_differ_at_one_edge_are_two() -> None:
    narrow = [Literal(1, (2,)), Literal(2, (3,)), Literal(3, (3,))]
    wide = [Literal(1, (2, 3)), *narrow[1:]]
    found = Classes((odds := odds_of(CABIN, ([narrow], 0.6), ([wide], 0.4))).language, 1).leader(odds)
    assert found is not None and abs(found.mass - 0.6) < 1e-9


def test_a_path_that_another_implies_adds_nothing() -> None:
    controls = [key(), latching("lights"), latching("blind"), momentary("push")]
    lit, both = [Literal(1, (1,))], [Literal(1, (1,)), Literal(2, (1,))]
    odds = odds_of(controls, ([lit, both], 0.6), ([lit], 0.4))
    found = Classes(odds.language, 1).leader(odds)
    assert found is not None and abs(found.mass - 1) < 1e-9
    assert found.rule.paths == (odds.language.find(lit),) and found.twins == ()


def test_a_button_that_helps_where_the_rule_is_inhibited_makes_another_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(leader, "PROBES", 0)
    controls = [key(), latching("side"), latching("bay"), rotary("saloon", ("off", "dim", "full")), momentary("buzzer")]
    needed = [Literal(0, (2,)), Literal(1, (1,)), Literal(2, (1,))]
    rule, helped = [*needed, Literal(3, (0, 1))], [*needed, Literal(4, (1,))]
    odds = odds_of(controls, ([rule], 0.6), ([rule, helped], 0.4))
    found = Classes(odds.language, 1).leader(odds)
    assert found is not None and abs(found.mass - 0.6) < 1e-9 and found.twins == ()
